#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace goodside::works {

// The contract goodside.listen/1 as plain structs: SI units with the suffix in the name, dB, ppm
// and degrees excepted; ratios are plain fractions. std::optional is the contract's null; each null
// measure is named in `undetermined`. src/json alone reads and writes it.

/// One audio file as heard.
struct AudioFile {
  std::string path;
  double sample_rate_Hz{};
  int channels{};
  double duration_s{};
  std::string sha256;  ///< lower-case hex of the file's bytes
};

enum class ReferenceKind { file, cutting_feed, mother, approved_pressing, consensus };

struct Interval_s {
  double from_s{}, to_s{};
};

/// One of the captures that voted on a consensus.
struct VotingPeer {
  AudioFile file;
  std::vector<Interval_s> covers{};  ///< of the consensus's time
  int outvoted{};                    ///< events of its own that the others voted out
};

struct Reference {
  AudioFile file;
  ReferenceKind kind{ReferenceKind::file};
  std::vector<Interval_s>
      own_faults{};  ///< of the reference itself, in programme time; never charged to a disc
  std::vector<VotingPeer> peers{};  ///< of a consensus
};

/// Played from metal or a disc: it has faults, a speed and a surface of its own.
[[nodiscard]] inline bool was_played(ReferenceKind kind) {
  return kind != ReferenceKind::file && kind != ReferenceKind::cutting_feed;
}

/// The side as given; `rpm` is the cut's, as fitted where once-a-turn evidence allows.
struct SideGeometry {
  std::string format;  ///< "12in-33", or "custom"
  double rpm{}, outer_radius_m{}, inner_radius_m{}, pitch_m{};
};

enum class ChannelOrder { as_cut, swapped, mono };

struct Alignment {
  bool found{};
  double programme_start_s{},
      programme_end_s{};  ///< capture time of the reference's first and last sample
  double programme_sigma_s{};
  double speed_error_ppm{};               ///< mean of d(programme)/d(capture) - 1, as measured
  std::optional<double> drive_error_ppm;  ///< the same, arm and sound-card clock corrected
  double gain_dB{};
  int polarity{1};
  ChannelOrder channels{ChannelOrder::as_cut};
  double confidence{};  ///< 0..1
};

struct WowCurve {
  std::vector<double> time_s, deviation;  ///< capture time; relative speed deviation
};

struct OncePerRevPeak {
  double outer{}, inner{};
};

struct Wow {
  std::optional<double> eccentricity_m, eccentricity_sigma_m, eccentricity_direction_deg;
  bool arm_corrected{};
  std::optional<OncePerRevPeak> once_per_rev_peak;
  std::optional<double> out_of_round_m,
      out_of_round_sigma_m;  ///< second harmonic, only when significant
  std::optional<double> weighted_2sigma;
  WowCurve curve;
  std::optional<double> weighted_peak{};  ///< greatest |weighted deviation|
};

struct ThirdOctave {
  double centre_Hz{}, left_dB{}, right_dB{};
  std::optional<double> sigma_dB{};  ///< standard error of the worse channel
};

struct Levels {
  std::vector<ThirdOctave> third_octave;
  std::optional<double> balance_dB, separation_dB, high_loss_dB_per_m;
  std::optional<double> balance_sigma_dB{}, separation_sigma_dB{}, high_loss_sigma_dB_per_m{};
};

enum class FaultKind { tick, pop, burst, dropout, jump, repeat, clip };
enum class FaultChannel { left, right, both };
enum class Plane { lateral, vertical, mixed };
enum class Audibility { plain, slight, masked };

/// What ails a place on the groove, told by the noise between its bursts.
enum class Nature { non_fill, dirt };

/// One audible event on one disc.
struct FaultEvent {
  int id{};
  FaultKind kind{};
  double capture_s{};
  std::optional<double> programme_s;
  std::optional<std::int64_t> revolution;
  std::optional<double> angle_deg, angle_sigma_deg, radius_m, radius_sigma_m;
  double duration_s{}, peak_dB{}, excess_dB{};
  FaultChannel channel{FaultChannel::both};
  Plane plane{Plane::mixed};
  Audibility audibility{};
  std::optional<double> margin_dB;
  std::optional<int> pattern;
  std::optional<double>
      programme_jump_s;            ///< jump and repeat: programme skipped (+) or played again (-)
  std::optional<Nature> nature{};  ///< null where it cannot be told, and for scratches
  std::optional<double> nature_probability{};  ///< of that nature against the other, 0.75 .. 1
};

enum class PatternKind { radial, arc, patch, scatter, echo };

struct Pattern {
  int id{};
  PatternKind kind{};
  std::vector<int> faults;
  std::int64_t first_revolution{}, last_revolution{};
  std::optional<double> angle_deg, angle_span_deg;
  std::optional<Nature> nature{};
  std::optional<double> nature_probability{};
};

/// Noise that is not programme over the disc: row = a band of revolutions from the outside, column
/// = angle.
struct PolarMap {
  double revolutions_per_row{};
  int columns{}, rows{};
  std::vector<std::optional<double>>
      dB;                        ///< rows*columns, row by row; null where nothing could be measured
  std::vector<double> coverage;  ///< share of the cell's time-frequency cells that were usable
  std::string reference;         ///< what 0 dB is
};

struct Echo {
  std::optional<double> lead_dB, lag_dB;
};

struct Noise {
  std::optional<double> weighted_dB, rumble_dB, hum_dB;
  std::string weighted_reference, rumble_reference,
      hum_reference;  ///< weighting and 0 dB of each figure
  std::optional<PolarMap> polar;
  Echo echo;
  std::optional<double> weighted_468_dB{}, weighted_k_dB{}, rumble_unweighted_dB{};
  std::string weighted_468_reference{}, weighted_k_reference{}, rumble_unweighted_reference{};
};

/// What a warped disc does to the vertical channel below the music, as heard: its height needs the
/// cartridge's sensitivity and the resonance of its arm beside it.
struct HeardWarp {
  std::optional<double> once_per_turn_dB{}, harmonics_dB{};  ///< null: under `background_dB`
  double background_dB{};                                    ///< what a line would have to exceed
  std::string reference{};                                   ///< band and 0 dB
};

/// A test record's steady tone; deviations are plain fractions of the speed.
struct Tone {
  double nominal_Hz{}, measured_Hz{};
  double from_s{}, to_s{};  ///< where in the capture
  double speed_error_ppm{}, speed_sigma_ppm{};
  std::optional<double> drift_ppm_per_min;
  std::optional<double> weighted_2sigma, weighted_peak, unweighted_2sigma, unweighted_peak;
  std::optional<double> noise_2sigma;  ///< the surface noise's own share of `weighted_2sigma`
};

/// The turn as the surface alone tells it, without the cut.
struct Turn {
  double rpm{}, sigma_rpm{};
  std::optional<double> nominal_rpm;  ///< the usual speed within 4 % of it
  std::vector<std::string> evidence;  ///< of "repeat", "swing", "ticks", "warp", the surest first
  double
      chance{};  ///< of so sure a one anywhere from 30 to 85 rpm where nothing turns; 1e-12 at least
};

struct Reason {
  std::string rule;
  double value{}, limit{};
  std::string text;
};

struct Verdict {
  bool pass{};
  std::string limits;  ///< name of the limits used
  std::vector<Reason> reasons;
};

struct Undetermined {
  std::string field, why;
};

struct ListeningReport {
  AudioFile capture;
  std::optional<Reference> reference;
  std::vector<Interval_s> heard;
  SideGeometry geometry;
  std::optional<Alignment> alignment;
  Wow wow;
  Levels levels;
  std::vector<FaultEvent> faults;
  std::vector<Pattern> patterns;
  Noise noise;
  std::optional<HeardWarp> warp{};
  std::optional<Tone> tone{};  ///< where the capture holds a test record's
  std::optional<Turn> turn{};  ///< of a capture alone, where its surface shows it
  Verdict verdict;
  int masked_count{};
  std::vector<Undetermined> undetermined;
  std::vector<std::string>
      remarks;  ///< plain sentences: a decimated capture, a clock without calibration …
};

}  // namespace goodside::works
