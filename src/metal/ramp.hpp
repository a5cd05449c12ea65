#pragma once
#include <span>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "works/plating.hpp"

namespace goodside::metal {

/// Charge passed from 0 to `time_s` [C]:  sum of (I0 + I1) t / 2 over the stages, the last one's final
/// current held on after its end. Exact for stages that go evenly.
[[nodiscard]] double charge_C(std::span<const works::CurrentStage>, double time_s);
[[nodiscard]] double total_time_s(std::span<const works::CurrentStage>);
[[nodiscard]] double current_A(std::span<const works::CurrentStage>, double time_s);

/// When a charge has passed [s]; the last stage is held on as long as it takes.
/// Errors: Fault::out_of_range where the last current is 0 and the charge is never reached.
[[nodiscard]] Result<double> time_for_charge_s(std::span<const works::CurrentStage>,
                                               double charge_C);

/// The stages up to `time_s`, the last of them cut or held on.
[[nodiscard]] std::vector<works::CurrentStage> until(std::span<const works::CurrentStage>,
                                                     double time_s);

/// The gentle beginning before a full current, on an area:
/// - silvered: 0.3 A/dm2 until 5 um cover the silver, then evenly to the full current in an hour: the silver
///   is some 0.1 um thin and burns off at its contacts, the lacquer softens with heat;
/// - passivated: 1 A/dm2 for 5 min, then evenly to the full current in 30 min: a film is easily lifted;
/// - bare: none. Where the full current is below the gentle one, the gentle one is the full current.
/// Common practice; the figures are from memory, each works has its own.
[[nodiscard]] std::vector<works::CurrentStage> gentle_start(works::StartingFace,
                                                            const works::PlatingMetal&,
                                                            double full_A,
                                                            double area_m2);

/// A sentence for each stage that begins too hard for the face, or lies outside what the bath takes.
[[nodiscard]] std::vector<std::string> ramp_warnings(std::span<const works::CurrentStage>,
                                                     works::StartingFace,
                                                     const works::PlatingMetal&,
                                                     double area_m2);

/// Errors: Fault::out_of_range for no stage, a current or time that is negative, not finite or absurd, no charge.
[[nodiscard]] Outcome check(std::span<const works::CurrentStage>);

}  // namespace goodside::metal
