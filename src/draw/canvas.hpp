#pragma once
#include <memory>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/colour.hpp"
#include "draw/disc_view.hpp"

using cairo_t = struct _cairo;

namespace goodside::draw {

enum class PictureFormat { png, svg, pdf };

/// A rectangle of the page.
struct Box {
  double x{}, y{}, width{}, height{};
  [[nodiscard]] bool meets(const Box& other) const {
    return x < other.x + other.width && other.x < x + width && y < other.y + other.height &&
           other.y < y + height;
  }
};

struct PlacedText {
  std::string text;
  Box box;
};

struct TextStyle {
  double size{14.0};  ///< page units; 13 is the smallest that is used
  Colour colour{};
  bool bold{};
  double wrap_width{};      ///< 0: one line
  double ellipsis_width{};  ///< 0: as long as it is; otherwise one line, cut with an ellipsis
  bool centred{};           ///< with wrap_width: each line in the middle of that width
  int most_lines{};  ///< with wrap_width: the last of so many is cut with an ellipsis; 0: all
};

enum class Align { left, centre, right };

/// A sheet of paper, upright.
struct Paper {
  double width_mm{}, height_mm{};
};

/// A page of cairo with text set by Pango, which remembers where its texts stand.
/// The same calls give the same bytes: nothing of the clock or the machine but its fonts enters the
/// file.
class Canvas {
 public:
  /// A page of `width` x `height` units, each `scale` pixels (PNG) or points (PDF, SVG) large.
  Canvas(PictureFormat format, double width, double height, double scale, Colour ground);
  /// A white sheet of paper measured in millimetres, which are its units too. A PNG has 300 dots an inch.
  Canvas(PictureFormat format, const Paper& paper);
  Canvas(const Canvas&) = delete;
  Canvas& operator=(const Canvas&) = delete;
  ~Canvas();

  /// For lines and surfaces.
  [[nodiscard]] cairo_t* pen() const;
  void ink(Colour, double opacity = 1.0) const;

  /// Sets text that begins (ends, is centred) at x with its top at y. Returns the box it fills.
  Box text(const std::string& text, Point at, const TextStyle&, Align = Align::left);
  /// The box that the text would fill.
  [[nodiscard]] Box measure(const std::string& text,
                            Point at,
                            const TextStyle&,
                            Align = Align::left) const;

  /// How many letters of the text no installed font has.
  [[nodiscard]] int letters_without_font(const std::string& text) const;

  [[nodiscard]] const std::vector<PlacedText>& texts() const { return texts_; }
  /// True when the box touches no text set so far.
  [[nodiscard]] bool is_free(const Box& box) const;

  /// Ends a sheet of a PDF and begins the next; other formats hold one sheet.
  void next_sheet();

  /// Ends the page and hands over the file's bytes. Errors: Fault::io with what cairo says.
  Result<std::string> finish();

 private:
  struct Page;
  void open(double width, double height, double scale, Colour ground);

  std::unique_ptr<Page> page_;
  std::vector<PlacedText> texts_;
};

}  // namespace goodside::draw
