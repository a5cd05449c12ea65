#pragma once
#include <optional>
#include <string>
#include <vector>

namespace goodside::works {

// What is known of a hole against its groove, whatever it was read with. Vectors point from the hole (the axis that
// the readings turn about) to the groove's centre, in the plane of the groove's face; x and y are the works' own axes.

/// A groove's place at one angle: distance from the axis, or a gauge's reading from any zero; it grows outwards.
struct GrooveReading {
  double angle_rad{}, position_m{};
};

/// A reading against the fit.
struct ReadingResidual {
  double angle_deg{}, position_m{}, residual_m{};
  bool kept{true};
};

/// The region that holds the offset with the confidence stated: an ellipse about the estimate.
struct OffsetRegion {
  double half_major_m{}, half_minor_m{};
  double major_direction_deg{};      ///< counter-clockwise from x
  double nearest_m{}, farthest_m{};  ///< least and greatest length of an offset in it
};

struct OutOfRound {
  double amplitude_m{};           ///< of the second harmonic
  double direction_deg{};         ///< where the groove lies farthest out, 0..180
  std::optional<double> sigma_m;  ///< of each of its two components
  std::optional<double> chance;   ///< of one as large where the groove is round
};

struct OffsetEstimate {
  double x_m{}, y_m{};
  std::optional<double> x_sigma_m, y_sigma_m;
  double correlation{};
  double confidence{0.9};
  std::optional<double> x_low_m, x_high_m, y_low_m, y_high_m;  ///< each alone
  std::optional<OffsetRegion> region;                          ///< both together
  double degrees_of_freedom{};      ///< infinite where the scatter is given; 0: not known
  std::optional<double> scatter_m;  ///< standard deviation of one reading
  std::string scatter_from;         ///< what it rests on, in words
  double mean_position_m{};
  std::optional<OutOfRound> out_of_round;
  int stations{};  ///< different angles
  std::vector<ReadingResidual> readings;
  std::vector<std::string> remarks;
};

enum class CentringStanding { within, outside, undecided };

/// Wow once a turn at one groove radius, peak, as a fraction of the speed.
struct WowAtGroove {
  std::string groove;  ///< "outer", "inner"
  double radius_m{};
  double peak{}, low{}, high{};  ///< as it lies, and over the region
  std::optional<double>
      after_peak;  ///< most that is left once it is moved, with the confidence stated
};

/// What a photograph showed.
struct PhotographFound {
  struct Circle {
    std::string name;     ///< "hole", "groove"
    double diameter_m{};  ///< as fitted
    double share{};       ///< of the turn whose edge was found and kept
    double scatter_px{};
    std::vector<double> outline_px;  ///< x0, y0, x1, y1 … of the fitted outline
    double centre_x_px{}, centre_y_px{};
  };
  int width_px{}, height_px{};
  double scale_px_per_m{};
  double tilt_deg{};  ///< 0 where taken as square
  bool tilt_measured{};
  double offset_sigma_px{};  ///< the greater of x and y
  std::vector<Circle> circles;
};

/// What was heard on discs of the plate, beside its reading. Lengths alone: the two have no common zero of angle.
struct HeardBeside {
  int discs{};
  double heard_m{}, low_m{}, high_m{};  ///< of the offset that the discs have in common; 90 %
  double read_low_m{}, read_high_m{};   ///< of the reading's region
  double seating_m{};                   ///< spread of a disc's seat on the spindle, each way
  bool agree{};
  std::string from{};  ///< "the reports given", "the record"
  std::string said{};  ///< one sentence
};

struct CentringReport {
  std::string source;  ///< "readings", "photograph", "record"
  OffsetEstimate offset;
  double length_m{}, direction_deg{};
  double limit_m{};
  std::string limit_from;
  CentringStanding standing{CentringStanding::undecided};
  std::optional<int> more_readings;  ///< to decide, at the scatter seen
  std::string more_why;
  double move_x_m{}, move_y_m{}, move_m{}, move_towards_deg{};
  double rpm{};
  std::vector<WowAtGroove> wow;
  std::optional<PhotographFound> photograph;
  std::optional<HeardBeside> heard;
  std::vector<std::string> remarks;
};

}  // namespace goodside::works
