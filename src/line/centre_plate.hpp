#pragma once
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
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

/// Lays what was heard on discs of the plate beside the reading, and remarks on it (metal/heard_offset.hpp): reports of
/// `goodside listen`. False where they differ. Errors: those of reading a report; Fault::bad_input where none knows its
/// offset.
Result<bool> lay_heard_beside(works::CentringReport& report,
                              const std::vector<std::string>& reports);

}  // namespace goodside::line
