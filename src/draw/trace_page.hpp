#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/canvas.hpp"
#include "works/trace_report.hpp"

namespace goodside::draw {

struct TracePictureOptions {
  PictureFormat format = PictureFormat::png;
  int width_px = 1600;  ///< PNG: 400 to 8000; PDF and SVG are as wide as A4 lying down
  bool dark = false;
  std::string title = "";  ///< of the record; empty: none
  std::string date = "";   ///< as it is to stand there; empty: none. No clock is asked.
};

inline constexpr double trace_width = 1188.0, trace_height = 840.0, trace_margin = 30.0;

/// Errors: Fault::out_of_range for a width outside its range.
[[nodiscard]] Outcome check_trace_picture(const TracePictureOptions&);
[[nodiscard]] const Palette& palette_of(const TracePictureOptions&);
/// An empty page of trace_width and `height` units.
[[nodiscard]] Canvas trace_page(const TracePictureOptions&, double height);

/// What `finish` makes of a page of trace_height that `draw` has drawn on. Errors: check_trace_picture's and draw's.
template <class Made, class Draw>
[[nodiscard]] Result<Made> trace_picture(const TracePictureOptions& options,
                                         const Draw& draw,
                                         Result<Made> (*finish)(Canvas&)) {
  if (const auto checked = check_trace_picture(options); !checked) return checked.error();
  Canvas canvas = trace_page(options, trace_height);
  if (const auto drawn = draw(canvas); !drawn) return drawn.error();
  return finish(canvas);
}
[[nodiscard]] Result<std::string> finished(Canvas&);
[[nodiscard]] Result<std::vector<PlacedText>> placed_texts(Canvas&);

/// Three lines at the top: what is wrong and which part did it; since when, on how many; what to do.
void draw_trace_head(Canvas&, const works::RecurringFault&, const TracePictureOptions&);
/// The same for a picture of all of them.
void draw_trace_head(Canvas&,
                     const std::string& title,
                     const std::string& below,
                     const TracePictureOptions&);

/// Shape and word of what was heard at the place, in a line from `at` on. Returns where it ends.
double draw_heard_key(Canvas&, Point at, const Palette&);

/// Slanting lines over a box, as suspect stock is marked.
void draw_suspect_hatch(Canvas&, const Box&, const Palette&);

}  // namespace goodside::draw
