#pragma once
#include <cstddef>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/disc_view.hpp"
#include "works/limits.hpp"
#include "works/listening_report.hpp"

namespace goodside::draw {

/// What one fault sounds like: WAV files of one window at one gain.
struct FaultSound {
  std::size_t fault{};          ///< index into the report's faults
  double from_s{}, to_s{};      ///< of the window, capture time
  std::string channel;          ///< that is heard: "left"
  std::string capture;          ///< bytes of a WAV file
  std::string cut, difference;  ///< empty where there is no cut
};

struct PageOptions {
  View view = View::disc;
  double shrinkage = 0.0;
  double landmark_angle_deg = 0.0;
  std::string landmark = "";
  works::Limits limits = {};       ///< that the plots draw
  std::string title = "";          ///< of the record
  std::string date = "";           ///< as it is to stand there; empty: none
  std::string next = "";           ///< the next act, a sentence
  std::vector<FaultSound> sounds;  ///< worst first
};

/// One side as a page to hand on: verdict, reasons, next act; portrait, sounds, faults, wow, levels, measures.
/// One file of HTML that asks for nothing outside itself, read without a script, by day and in the dark (colours
/// of the palette, chosen by the reader's setting), and printed black on white. Each picture has its figures as a
/// table folded under it. At most 400 faults and 2000 cells of noise are listed; the report has the rest.
/// All text that comes from outside is escaped. Errors: those of portrait and the plots.
Result<std::string> report_page(const works::ListeningReport&, const PageOptions&);

}  // namespace goodside::draw
