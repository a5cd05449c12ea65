#pragma once
#include <cstddef>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/canvas.hpp"
#include "draw/disc_shape.hpp"
#include "draw/disc_view.hpp"
#include "works/listening_report.hpp"

namespace goodside::draw {

inline constexpr Paper a4_paper{210.0, 297.0};
inline constexpr Paper letter_paper{215.9, 279.4};

struct FinderOptions {
  View view = View::disc;
  PictureFormat format = PictureFormat::pdf;  ///< or svg; a PNG has no size to print at
  Paper paper = a4_paper;
  double shrinkage = 0.0;           ///< of the compound, as for the portrait
  double landmark_angle_deg = 0.0;  ///< the groove angle of the works' own landmark
  std::string landmark = "";        ///< what it is; empty: programme start, angle 0
  std::string title = "";
  std::string date = "";
};

/// One place on the paper with the faults that lie within a few millimetres of it.
struct FinderPlace {
  Point at;                        ///< on the sheet [mm], from its top left corner
  std::vector<std::size_t> ranks;  ///< of its faults in worst_first, 0 the worst
};

/// What one sheet shows: the disc from its hole outwards, the worst of the sheet's faults straight above the hole.
struct FinderSheet {
  DiscView view;  ///< units are millimetres: view.place gives a point of the paper
  Box drawing;    ///< the part of the paper that the disc is drawn in
  std::vector<FinderPlace> places;
};

/// The places of the 40 worst faults, worst first: up to five on a sheet, up to six sheets. A disc that the paper holds whole (a
/// 7-inch one) is drawn whole; of a larger one each sheet holds the hole, all about it, and the sector to the edge
/// that the fault lies in, since the hole, a landmark and the fault are what a finger needs.
/// On metal every radius is that of the disc / (1 - shrinkage).
[[nodiscard]] std::vector<FinderSheet> plan_finder(const works::ListeningReport&,
                                                   const FinderOptions&);

/// A print at 1:1 to find faults by: laid on the disc (or metal), hole on hole and landmark on landmark, it has
/// its fault under a ring to be cut out. Black on white; two bars of 100 mm check the printer. PDF: a sheet a
/// page; SVG, in millimetres: the first sheet. A report without a placed fault gives a sheet that says so.
/// Caution: for metal it states the usual care with edges and nickel, and defers to the works' own rules.
/// Errors: Fault::out_of_range for an option outside its range; Fault::bad_input for a report with no band to
/// draw; Fault::io from cairo.
Result<std::string> finder_sheet(const works::ListeningReport&, const FinderOptions&);
/// Where the texts of every sheet stand [mm].
Result<std::vector<std::vector<PlacedText>>> finder_texts(const works::ListeningReport&,
                                                          const FinderOptions&);

}  // namespace goodside::draw
