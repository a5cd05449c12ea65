#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/canvas.hpp"
#include "draw/disc_view.hpp"
#include "works/listening_report.hpp"

namespace goodside::draw {

struct PortraitOptions {
  View view = View::disc;
  PictureFormat format = PictureFormat::png;
  int width_px = 1600;  ///< PNG: 400 to 8000; PDF and SVG are A4 lying down
  bool dark = false;    ///< for a darkened bench
  /// Of the compound, a fraction from 0 to 0.05: radius on the metal = radius on the disc / (1 -
  /// shrinkage).
  double shrinkage = 0.0;
  double landmark_angle_deg = 0.0;  ///< the groove angle that lies at the top
  std::string landmark = "";        ///< what lies there: "matrix number"
  std::string title = "";           ///< of the record; empty: the capture's file name alone
  std::string date = "";            ///< as it is to stand there; empty: none. No clock is asked.
};

/// The disc portrait: one side at a glance, in real proportions, with verdict, faults, noise and
/// offset. Returns the bytes of the file; equal arguments give equal bytes on one machine's fonts.
/// A wrong title, or a side heard without its cut, gives a portrait that says so.
/// Errors: Fault::out_of_range for an option outside its range; Fault::bad_input for a report with
/// no band to draw (radii not above zero, outer not beyond inner); Fault::io from cairo.
Result<std::string> portrait(const works::ListeningReport&, const PortraitOptions&);

/// Those of the errors above that are no fault of cairo's.
Outcome check_portrait(const works::ListeningReport&, const PortraitOptions&);

/// Where every text of that portrait stands, in page units of 1188 x 840.
Result<std::vector<PlacedText>> portrait_texts(const works::ListeningReport&,
                                               const PortraitOptions&);

}  // namespace goodside::draw
