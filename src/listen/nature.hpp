#pragma once
#include <optional>
#include <span>
#include <vector>

#include "listen/groove_ground.hpp"
#include "works/listening_report.hpp"

namespace goodside::listen {

/// What the rule goes by. Set by hand, none by a fit; `crowded` and the
/// two `alone` shares came in after a look at simulated sides (docs/non_fill.md).
struct NatureRule {
  double lift_mean_dB{5.0};  ///< torn groove stands so far over the groove around: exponential
  double covered{0.7};       ///< share of places beside a torn one, and a turn on, that are torn
  double stray{0.02};        ///< share of places a turn from a speck that are raised all the same
  double crowded{0.15};      ///< of places beside it: specks crowd, and loud ones ring
  double stray_dB{20.0};     ///< anything up to so far
  double torn_gap_dB{4.0};   ///< of its ground under its mean: rough noise swells and sinks
  double torn_gap_sigma_dB{2.5};
  double speck_sigma_dB{0.9};  ///< of the ground among specks
  double lasting_s{4e-3};      ///< shorter events have no inside to look at
  double brief_if_torn{0.5};   ///< share of events so short in torn groove
  double brief_if_dirt{0.9};   ///< and among specks
  double alone_if_torn{0.3};   ///< share of the faults of torn groove that belong to no pattern
  double alone_if_dirt{0.9};
  double told_odds{3.0};  ///< less is not told
};

/// One event as far as its nature goes.
struct NatureEvent {
  double programme_s{}, duration_s{};
  double mean_dB{}, ground_dB{};  ///< see EventFeatures
};

/// ln P(seen | non-fill) / P(seen | dirt) of one event: what is in it plus what lies beside it and
/// at its angle on the turns next to it.
struct NatureOdds {
  double inside{}, around{};
  [[nodiscard]] double sum() const { return inside + around; }
};

/// Non-fill is compound that did not reach the groove's walls over a patch: rough noise in bursts,
/// with raised noise between them, at the same angles turn after turn. Dirt is specks: impulses
/// with quiet between them, placed by chance.
///   around   ground raised by r beside the event (25 ms to either side) and at its angle one and
///            two turns before and after. Non-fill: c EMG(r) + (1 - c) N(r), EMG the sum of an
///            exponential and the normal error, c = covered; dirt: (1 - s) N(r) + s/stray_dB. The
///            five are multiplied, for each of six wall and band hypotheses (left, right, both;
///            whole band, under 5 kHz), and the six averaged.
///   inside   lasting events: ground of the event's own cells at its mean less torn_gap, or at the
///            surroundings'; short ones: how often each makes them short.
/// Source:   own method; figures as measured: docs/non_fill.md.
[[nodiscard]] NatureOdds nature_odds(const NatureEvent& event,
                                     const GrooveGround& ground,
                                     double turn_s,
                                     const NatureRule& rule = {});

/// Sets aside what a brief event itself colours, so that specks near each other do not pass for
/// noise between them. A lasting one stays: its inside is the noise asked for.
void set_aside_if_brief(const NatureEvent& event,
                        GrooveGround& ground,
                        const NatureRule& rule = {});

struct NatureTold {
  std::optional<works::Nature> nature;
  std::optional<double> probability;
};

/// Both natures equally likely beforehand. Nothing where the odds are less than `told_odds`.
[[nodiscard]] NatureTold told(double log_odds, const NatureRule& rule = {});

/// Calls what stands in raised noise a burst and what does not, and has quiet inside, a tick, before patterns
/// are sought: a tear's grains are impulses too, and specks crowd into one event. Pops, ticks and
/// bursts only. What stands in raised noise takes its nature at once. `odds` beside `faults`.
void rename_by_nature(std::span<works::FaultEvent> faults, std::span<const NatureOdds> odds);

/// Names each pattern but scratches and echoes by its members, a turn counted once, and its faults with it; faults
/// in no pattern by themselves. A torn scatter becomes an arc or a patch, dirt a scatter.
void tell_natures(std::span<works::FaultEvent> faults,
                  std::span<const NatureOdds> odds,
                  std::vector<works::Pattern>& patterns,
                  const NatureRule& rule = {});

}  // namespace goodside::listen
