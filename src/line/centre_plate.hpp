#pragma once
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "ledger/record.hpp"
#include "works/centring.hpp"
#include "works/limits.hpp"
#include "works/photograph.hpp"

namespace goodside::line {

/// How a works counts angles and looks at its plate: +x lies where the reading's angle is `x_at_rad`, +y a quarter
/// turn counter-clockwise from it as one looks at the face; angles may grow clockwise.
struct WorksAxes {
  double x_at_rad{};
  bool clockwise{};
};

/// A title's grooves and what its hole is held to.
struct CentreFor {
  std::string format{"12in-33"};
  works::Limits limits{};
  std::optional<double> limit_m{};  ///< in place of limits.eccentricity_m
};

/// A part of a works' record; `folder` is the works', where reports lie.
struct RecordedPart {
  ledger::Record& record;
  std::string folder, code;
};

struct CentreReadings {
  std::vector<works::GrooveReading> readings;  ///< as taken
  bool inwards{};                              ///< the gauge counts towards the axis
  WorksAxes axes{};
  std::optional<double> reading_sigma_m{}, groove_radius_m{};
  double inward_per_turn_m{};
  CentreFor title{};
};

/// The offset and the move in the works' axes, from readings. The groove's radius, for the second-order term, is the
/// one given, or the mean position where that is one (over 10 mm), or the format's finishing groove.
/// Errors: those of metal::fit_offset; Fault::bad_input where no limit is set; Fault::not_found for a format.
Result<works::CentringReport> centre_by_readings(const CentreReadings& asked);

struct CentrePhotograph {
  std::string path;
  double hole_diameter_m{};
  std::vector<double>
      groove_diameters_m{};  ///< of the format where empty: finishing and outermost groove
  bool flat_scan{};
  CentreFor title{};
};
struct CentredPhotograph {
  works::CentringReport report;
  works::GreyPicture picture;
};
/// The same from a photograph; x to the picture's right, y upwards. Errors: those of intake::find_circle_edges and of
/// metal::find_offset, with the file's name.
Result<CentredPhotograph> centre_by_photograph(const CentrePhotograph& asked);

/// Lays what was heard on discs of the plate beside the reading (metal/heard_offset.hpp): reports of `goodside listen`.
/// Errors: those of reading a report; Fault::bad_input where none knows its offset.
Outcome lay_heard_beside(works::CentringReport& report, const std::vector<std::string>& reports);

/// The same from a works' record: all discs pressed from the part whose reports were kept; a disc heard more than once
/// counts once, by the mean of its squares. Nothing is laid beside where none was heard yet.
/// Errors: Fault::not_found for the part.
Outcome lay_recorded_beside(works::CentringReport& report, const RecordedPart& part);

/// The centring that the record holds of a part, judged anew: its last `centred` step with its offset and uncertainties,
/// as if of known scatter. Errors: Fault::not_found for the part, or where it was never centred.
Result<works::CentringReport> recorded_centring(const RecordedPart& part, const CentreFor& title);

}  // namespace goodside::line
