#pragma once
#include <optional>
#include <span>
#include <vector>

namespace goodside::listen {

/// An audible event as the crackle line sees it.
struct CrackleEvent {
  double severity_dB{};          ///< how far it stands over the detector's own line; finite
  std::optional<double> turn{};  ///< programme_s rpm / 60
};

struct CrackleSearch {
  double least_rate_per_min{300.0};  ///< fewer audible events a minute are no crackle
  double upper_share{0.4};           ///< of the severities, to which the tail is fitted
  double false_faults{1.5};      ///< background events expected over the line, in what was heard
  double kin_false_faults{0.5};  ///< the same for events excused by kin, pairs and threes each
  double kin_deg{3.0};           ///< how near the same angle on the next turn kin must lie
};

struct CrackleLine {
  bool applied{};  ///< false: too few events, nothing is crackle
  double rate_per_min{};
  double scale_dB{};       ///< of the exponential tail
  double line_dB{};        ///< for an event alone
  double pair_line_dB{};   ///< with kin on a neighbouring turn
  double three_line_dB{};  ///< in a run of three turns
  int crackle_count{};
  std::vector<char> is_crackle;  ///< by event, 1 where it belongs to the surface, not to a fault
};

/// Parts faults from the crackle of a filled, coarse-groove surface, whose ticks come in the
/// thousands.
///
/// Severities in dB have an exponential upper tail where amplitudes follow a power law: with n_u
/// events over the quantile u of 1 - upper_share,   expected(s) = n_u exp(-(s - u) / b),   b by
/// maximum likelihood from that tail with its top twentieth censored, and once more with what
/// stands over that line left out as true faults, so that they do not stretch it.   line = u + b
/// ln(n_u / false_faults). The same angle on the next turn is scarce among independent events: n
/// over s in N turns make n^2 w / N pairs and n^3 w^2 / N^2 threes, w = 2 kin_deg / 360; the lower
/// lines are where those hold kin_false_faults events. The house's rule: common practice, no
/// source. Valid: for a tail no heavier than the fitted one; on a log-normal surface the line errs
/// to the high side. `heard_s`, `rpm` > 0. Deterministic; O(n log n).
[[nodiscard]] CrackleLine crackle_line(std::span<const CrackleEvent> events,
                                       double heard_s,
                                       double rpm,
                                       const CrackleSearch& search = {});

}  // namespace goodside::listen
