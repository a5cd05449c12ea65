#include <fmt/format.h>

#include <algorithm>

#include "cli/summary.hpp"
#include "draw/words.hpp"

namespace goodside::cli {
namespace {

using works::FaultEvent;
using works::FaultKind;
using works::ListeningReport;

bool broke(const ListeningReport& report, std::initializer_list<std::string_view> rules) {
  return std::any_of(
      report.verdict.reasons.begin(), report.verdict.reasons.end(), [&](const auto& reason) {
        return std::find(rules.begin(), rules.end(), reason.rule) != rules.end();
      });
}

std::string place(const FaultEvent& fault) {
  std::string text = draw::clock_ms(fault.programme_s.value_or(fault.capture_s));
  if (fault.radius_m && fault.angle_deg)
    text += fmt::format(" ({:.1f} mm, {})", *fault.radius_m * 1e3, draw::degrees(*fault.angle_deg));
  return text;
}

/// The pattern with most faults that can name its parent.
const works::Pattern* leading_pattern(const ListeningReport& report) {
  const works::Pattern* best = nullptr;
  for (const auto& pattern : report.patterns) {
    if (pattern.kind != works::PatternKind::radial && pattern.kind != works::PatternKind::arc &&
        pattern.nature != works::Nature::non_fill)
      continue;
    if (best == nullptr || pattern.faults.size() > best->faults.size()) best = &pattern;
  }
  return best;
}

const FaultEvent* first_of(const ListeningReport& report, const works::Pattern& pattern) {
  const auto found =
      std::find_if(report.faults.begin(), report.faults.end(), [&](const auto& fault) {
        return std::find(pattern.faults.begin(), pattern.faults.end(), fault.id) !=
               pattern.faults.end();
      });
  return found == report.faults.end() ? nullptr : &*found;
}

std::string for_faults(const ListeningReport& report) {
  const FaultEvent& worst = report.faults[draw::worst_first(report.faults).front()];
  if (worst.kind == FaultKind::jump || worst.kind == FaultKind::repeat)
    return fmt::format(
        "look at the groove at {} under the microscope, then hear a sister disc of the same "
        "stamper there",
        place(worst));
  if (const auto* pattern = leading_pattern(report))
    if (const auto* fault = first_of(report, *pattern)) {
      if (pattern->nature == works::Nature::non_fill)
        return fmt::format(
            "non-fill: have the press setter check heat, dwell, force and biscuit under the "
            "press's own safety rules; then hear the next disc at {}",
            place(*fault));
      return fmt::format(
          "hear a sister disc of the same stamper at {}: if the {} line recurs, look at the "
          "stamper there",
          place(*fault),
          draw::word(pattern->kind));
    }
  return fmt::format(
      "brush the disc and hear {} again; what stays, seek on a sister disc of the same stamper",
      place(worst));
}

}  // namespace

std::string next_act(const ListeningReport& report) {
  switch (draw::standing(report)) {
    case draw::Standing::not_this_cut:
      return "wrong title or side: check ticket, label and matrix number against the order";
    case draw::Standing::good:
      return "nothing to do for this side; hear the next sample when it is due";
    case draw::Standing::unjudged:
      return "hear it against its cut: --reference places every fault on the disc";
    case draw::Standing::out:
      break;
  }
  if (!report.faults.empty() && broke(report,
                                      {"plain_faults_per_side",
                                       "slight_faults_per_min",
                                       "worst_pattern_faults",
                                       "jumps_allowed",
                                       "loudest_fault_dB"}))
    return for_faults(report);
  if (broke(report, {"eccentricity_m", "once_per_rev_peak"}))
    return "reseat the disc and hear it again; if the offset stays, check the centring of the "
           "stamper";
  if (broke(report, {"speed_error", "weighted_2sigma"}))
    return "check the turntable with its stroboscope and a known good disc, then hear this one "
           "again";
  if (broke(report, {"weighted_noise_dB", "rumble_dB", "hum_dB"}))
    return "hear a known quiet disc on this bench: if that is as loud, mend the bench, not the "
           "disc";
  return "hear it once more on another bench before the stock is held";
}

}  // namespace goodside::cli
