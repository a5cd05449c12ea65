#include "listen/verdict.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <limits>
#include <optional>
#include <string_view>
#include <utility>

#include "listen/verdict_words.hpp"

namespace goodside::listen {
namespace {

/// Whole degrees of a turn, 360 being 0 again.
std::string degrees(double angle_deg) {
  return fmt::format("{}°", (std::lround(angle_deg) % 360 + 360) % 360);
}

using works::Audibility;
using works::FaultEvent;
using works::FaultKind;

constexpr double first_of_all_dB = std::numeric_limits<double>::infinity();
constexpr double before_figures_dB = std::numeric_limits<double>::max();

bool off_the_groove(const FaultEvent& fault) {
  return fault.kind == FaultKind::jump || fault.kind == FaultKind::repeat;
}

bool is_plain(const FaultEvent& fault) {
  return fault.audibility == Audibility::plain && !off_the_groove(fault);
}

bool is_slight(const FaultEvent& fault) {
  return fault.audibility == Audibility::slight && !off_the_groove(fault);
}

template <class Picks>
int count_of(const std::vector<FaultEvent>& faults, Picks picks) {
  return static_cast<int>(std::count_if(faults.begin(), faults.end(), picks));
}

/// The first of the loudest among the faults that `picks` takes.
template <class Picks>
const FaultEvent* loudest(const std::vector<FaultEvent>& faults, Picks picks) {
  const FaultEvent* best = nullptr;
  for (const auto& fault : faults)
    if (picks(fault) && (best == nullptr || fault.peak_dB > best->peak_dB)) best = &fault;
  return best;
}

/// Collects reasons with their weight, and remarks.
class Bench {
 public:
  Bench(const works::ListeningReport& heard, const works::Limits& allowed)
      : report{heard}, limits{allowed} {}

  const works::ListeningReport& report;
  const works::Limits& limits;

  void fail(double overrun_dB, works::Reason reason) {
    weighed_.push_back({overrun_dB, std::move(reason)});
  }

  /// A figure whose ratio to its limit counts.
  void ratio(works::Reason reason) {
    if (reason.value <= reason.limit) return;
    // Against a limit of nothing, one too many weighs as much as twice the limit.
    const double times = reason.limit > 0.0 ? reason.value / reason.limit : 1.0 + reason.value;
    fail(20.0 * std::log10(times), std::move(reason));
  }

  void level(works::Reason reason) {
    if (reason.value > reason.limit) fail(reason.value - reason.limit, std::move(reason));
  }

  /// Heard without a reference: levels count from another zero than the limits do.
  [[nodiscard]] bool alone() const { return !report.reference && !report.alignment; }

  /// "Eccentricity was not judged: heard for too few turns." Without the cut most cannot be, and one remark names
  /// them all.
  void not_judged(std::string_view what, const std::string& field) {
    if (alone()) {
      std::string name{what};
      name.front() = static_cast<char>(std::tolower(static_cast<unsigned char>(name.front())));
      unjudged_ += (unjudged_.empty() ? "" : ", ") + name;
      return;
    }
    // "wow" speaks for everything in it, "noise.echo.lead_dB" for the echo.
    const auto& all = report.undetermined;
    const auto why = std::find_if(all.begin(), all.end(), [&](const works::Undetermined& one) {
      return one.field == field || field.starts_with(one.field + ".") ||
             one.field.starts_with(field + ".");
    });
    const bool told = why != all.end() && !why->why.empty();
    std::string text = fmt::format(
        "{} was not judged: {}", what, told ? why->why : std::string{"it could not be measured"});
    if (text.back() != '.') text += '.';
    remarks_.push_back(std::move(text));
  }

  Judgement judgement() && {
    std::stable_sort(weighed_.begin(), weighed_.end(), [](const Weighed& a, const Weighed& b) {
      return a.overrun_dB > b.overrun_dB;
    });
    Judgement result;
    result.verdict.pass = weighed_.empty();
    result.verdict.limits = limits.name;
    for (auto& one : weighed_) result.verdict.reasons.push_back(std::move(one.reason));
    result.remarks = std::move(remarks_);
    if (!unjudged_.empty())
      result.remarks.push_back(
          fmt::format("without the cut these limits were not judged: {}", unjudged_));
    return result;
  }

 private:
  struct Weighed {
    double overrun_dB;
    works::Reason reason;
  };
  std::vector<Weighed> weighed_;
  std::vector<std::string> remarks_;
  std::string unjudged_;
};

void judge_plain_faults(Bench& bench) {
  if (!bench.limits.plain_faults_per_side) return;
  const int limit = *bench.limits.plain_faults_per_side;
  const int count = count_of(bench.report.faults, is_plain);
  const FaultEvent* worst = loudest(bench.report.faults, is_plain);
  if (worst == nullptr) return;
  const std::string which =
      count == 1 ? fmt::format("a {}", name_of(worst->kind)) : std::string{"the loudest"};
  bench.ratio({"plain_faults_per_side",
               static_cast<double>(count),
               static_cast<double>(limit),
               fmt::format("{}, limit {}: {} at {}",
                           counted(count, "plain fault", "plain faults"),
                           limit,
                           which,
                           place_of(*worst))});
}

void judge_slight_faults(Bench& bench) {
  if (!bench.limits.slight_faults_per_min) return;
  double heard_s = 0.0;
  for (const auto& interval : bench.report.heard) heard_s += interval.to_s - interval.from_s;
  if (heard_s <= 0.0) return bench.not_judged("The rate of slight faults", "heard");
  const FaultEvent* worst = loudest(bench.report.faults, is_slight);
  if (worst == nullptr) return;
  const int count = count_of(bench.report.faults, is_slight);
  const double limit = *bench.limits.slight_faults_per_min;
  const double rate_per_min = count * 60.0 / heard_s;
  bench.ratio({"slight_faults_per_min",
               rate_per_min,
               limit,
               fmt::format("{:.2g} slight faults a minute, limit {:g}: {} in {} heard, "
                           "the loudest at {}",
                           rate_per_min,
                           limit,
                           count,
                           clock_time(heard_s),
                           place_of(*worst))});
}

void judge_jumps(Bench& bench) {
  if (bench.limits.jumps_allowed.value_or(true)) return;
  if (bench.alone()) return bench.not_judged("Jumps and repeats", "faults.jump");
  const auto& faults = bench.report.faults;
  const auto first = std::find_if(faults.begin(), faults.end(), off_the_groove);
  if (first == faults.end()) return;
  const int count = count_of(faults, off_the_groove);
  bench.fail(before_figures_dB,
             {"jumps_allowed",
              static_cast<double>(count),
              0.0,
              fmt::format("the stylus left the groove {}, not allowed: {}{} at {}",
                          count == 1 ? "once" : fmt::format("{} times", count),
                          count == 1 ? "a " : "first a ",
                          name_of(first->kind),
                          place_of(*first))});
}

void judge_loudest_fault(Bench& bench) {
  if (!bench.limits.loudest_fault_dB) return;
  if (bench.alone()) return bench.not_judged("The loudest fault", "faults.peak_dB");
  const auto* worst =
      loudest(bench.report.faults, [](const FaultEvent& fault) { return !off_the_groove(fault); });
  if (worst == nullptr) return;
  const double limit_dB = *bench.limits.loudest_fault_dB;
  bench.level({"loudest_fault_dB",
               worst->peak_dB,
               limit_dB,
               fmt::format("a {} of {:.1f} dB re full scale, limit {:g} dB, at {}",
                           name_of(worst->kind),
                           worst->peak_dB,
                           limit_dB,
                           place_of(*worst))});
}

void judge_patterns(Bench& bench) {
  if (!bench.limits.worst_pattern_faults) return;
  const works::Pattern* worst = nullptr;
  for (const auto& pattern : bench.report.patterns)
    if ((pattern.kind == works::PatternKind::radial || pattern.kind == works::PatternKind::arc) &&
        (worst == nullptr || pattern.faults.size() > worst->faults.size()))
      worst = &pattern;
  if (worst == nullptr) return;
  const int limit = *bench.limits.worst_pattern_faults;
  const auto count = static_cast<int>(worst->faults.size());
  std::string text = fmt::format("{} in one {}, limit {}: turns {} to {}",
                                 counted(count, "fault", "faults"),
                                 worst->kind == works::PatternKind::radial ? "radial line" : "arc",
                                 limit,
                                 worst->first_revolution,
                                 worst->last_revolution);
  if (worst->angle_deg) text += fmt::format(", at {}", degrees(*worst->angle_deg));
  bench.ratio({"worst_pattern_faults",
               static_cast<double>(count),
               static_cast<double>(limit),
               std::move(text)});
}

void judge_eccentricity(Bench& bench) {
  if (!bench.limits.eccentricity_m) return;
  const auto& wow = bench.report.wow;
  if (!wow.eccentricity_m) return bench.not_judged("Eccentricity", "wow.eccentricity_m");
  const double limit_m = *bench.limits.eccentricity_m;
  std::string text =
      fmt::format("hole {:.3f} mm off the groove's centre", *wow.eccentricity_m * 1000.0);
  if (wow.eccentricity_sigma_m)
    text += fmt::format(" (± {:.3f} mm)", *wow.eccentricity_sigma_m * 1000.0);
  text += fmt::format(", limit {:g} mm", limit_m * 1000.0);
  if (wow.eccentricity_direction_deg)
    text += fmt::format(": the centre lies towards {}", degrees(*wow.eccentricity_direction_deg));
  bench.ratio({"eccentricity_m", *wow.eccentricity_m, limit_m, std::move(text)});
}

void judge_speed(Bench& bench) {
  if (!bench.limits.speed_error) return;
  if (const auto& tone = bench.report.tone; bench.alone() && tone)
    return bench.ratio(
        {"speed_error",
         std::abs(tone->speed_error_ppm) * 1e-6,
         *bench.limits.speed_error,
         fmt::format("the tone plays {:.2f} % too {}, limit {:g} % (as measured, arm "
                     "and sound card included)",
                     std::abs(tone->speed_error_ppm) * 1e-4,
                     tone->speed_error_ppm > 0.0 ? "high" : "low",
                     *bench.limits.speed_error * 100.0)});
  if (!bench.report.alignment) return bench.not_judged("Speed", "alignment");
  const auto& drive_ppm = bench.report.alignment->drive_error_ppm;
  const double error = drive_ppm.value_or(bench.report.alignment->speed_error_ppm) * 1e-6;
  bench.ratio({"speed_error",
               std::abs(error),
               *bench.limits.speed_error,
               fmt::format("speed {:.2f} % too {}, limit {:g} %{}",
                           std::abs(error) * 100.0,
                           error > 0.0 ? "high" : "low",
                           *bench.limits.speed_error * 100.0,
                           drive_ppm ? "" : " (as measured, arm and sound card included)")});
}

void judge_wow(Bench& bench) {
  const auto& wow = bench.report.wow;
  if (bench.limits.once_per_rev_peak) {
    if (!wow.once_per_rev_peak) {
      bench.not_judged("Once-a-turn wow", "wow.once_per_rev_peak");
    } else {
      const auto [outer, inner] = *wow.once_per_rev_peak;
      const double worst = std::max(outer, inner);
      bench.ratio({"once_per_rev_peak",
                   worst,
                   *bench.limits.once_per_rev_peak,
                   fmt::format("once-a-turn wow of {:.2f} % peak at the {} groove, limit {:g} %",
                               worst * 100.0,
                               outer > inner ? "outer" : "inner",
                               *bench.limits.once_per_rev_peak * 100.0)});
    }
  }
  if (!bench.limits.weighted_2sigma) return;
  if (!wow.weighted_2sigma)
    return bench.not_judged("Weighted wow and flutter", "wow.weighted_2sigma");
  bench.ratio({"weighted_2sigma",
               *wow.weighted_2sigma,
               *bench.limits.weighted_2sigma,
               fmt::format("wow and flutter of {:.3f} % weighted, limit {:g} %",
                           *wow.weighted_2sigma * 100.0,
                           *bench.limits.weighted_2sigma * 100.0)});
}

struct LevelRule {
  std::string_view rule, what;
  std::string field;
  std::optional<double> value_dB, limit_dB;
  std::string_view reference;
};

void judge_level(Bench& bench, const LevelRule& rule) {
  if (!rule.limit_dB) return;
  if (!rule.value_dB || bench.alone()) return bench.not_judged(rule.what, rule.field);
  std::string text =
      fmt::format("{} at {:.1f} dB, limit {:g} dB", rule.what, *rule.value_dB, *rule.limit_dB);
  if (!rule.reference.empty()) text += fmt::format(" ({})", rule.reference);
  bench.level({std::string{rule.rule}, *rule.value_dB, *rule.limit_dB, std::move(text)});
}

void judge_noise(Bench& bench) {
  const auto& noise = bench.report.noise;
  const auto& limits = bench.limits;
  judge_level(bench,
              {"weighted_noise_dB",
               "Surface noise",
               "noise.weighted_dB",
               noise.weighted_dB,
               limits.weighted_noise_dB,
               noise.weighted_reference});
  judge_level(bench,
              {"rumble_dB",
               "Rumble",
               "noise.rumble_dB",
               noise.rumble_dB,
               limits.rumble_dB,
               noise.rumble_reference});
  judge_level(bench,
              {"hum_dB", "Hum", "noise.hum_dB", noise.hum_dB, limits.hum_dB, noise.hum_reference});
  // std::optional orders null under every value, so the larger is the known one where one is
  // unknown.
  judge_level(bench,
              {"echo_dB",
               "Echo of the neighbouring turn",
               "noise.echo",
               std::max(noise.echo.lead_dB, noise.echo.lag_dB),
               limits.echo_dB,
               "re the programme"});
}

struct ToneError {
  double centre_Hz{}, error_dB{};
  bool left{};
};

std::optional<ToneError> worst_tone(const std::vector<works::ThirdOctave>& bands) {
  // An exact centre, 1000 * 2^(n/3), may read 251.2 or 249.9; 9 kHz leaves the 8-kHz band as the
  // last.
  constexpr double lowest_Hz = 240.0, highest_Hz = 9000.0;
  std::optional<ToneError> worst;
  for (const bool left : {true, false}) {
    std::vector<ToneError> levels;
    double sum_dB = 0.0;
    for (const auto& band : bands)
      if (band.centre_Hz >= lowest_Hz && band.centre_Hz <= highest_Hz) {
        levels.push_back({band.centre_Hz, left ? band.left_dB : band.right_dB, left});
        sum_dB += levels.back().error_dB;
      }
    for (auto& one : levels) {
      one.error_dB -= sum_dB / static_cast<double>(levels.size());
      if (!worst || std::abs(one.error_dB) > std::abs(worst->error_dB)) worst = one;
    }
  }
  return worst;
}

void judge_tone(Bench& bench) {
  const auto& levels = bench.report.levels;
  if (bench.limits.balance_dB) {
    if (!levels.balance_dB) {
      bench.not_judged("Balance", "levels.balance_dB");
    } else {
      bench.level({"balance_dB",
                   std::abs(*levels.balance_dB),
                   *bench.limits.balance_dB,
                   fmt::format("{} channel {:.1f} dB louder than in the cut, limit {:g} dB",
                               *levels.balance_dB > 0.0 ? "right" : "left",
                               std::abs(*levels.balance_dB),
                               *bench.limits.balance_dB)});
    }
  }
  if (!bench.limits.level_deviation_dB) return;
  const auto worst = worst_tone(levels.third_octave);
  if (!worst) return bench.not_judged("Level against frequency", "levels.third_octave");
  bench.level({"level_deviation_dB",
               std::abs(worst->error_dB),
               *bench.limits.level_deviation_dB,
               fmt::format("{:.0f} Hz is {:.1f} dB too {} on the {}, limit {:g} dB",
                           worst->centre_Hz,
                           std::abs(worst->error_dB),
                           worst->error_dB > 0.0 ? "loud" : "weak",
                           worst->left ? "left" : "right",
                           *bench.limits.level_deviation_dB)});
}

}  // namespace

Judgement judge(const works::ListeningReport& report, const works::Limits& limits) {
  Bench bench{report, limits};
  if (report.alignment && !report.alignment->found) {
    bench.fail(first_of_all_dB,
               {"alignment",
                0.0,
                1.0,
                "the cut was not found in the capture: wrong title, wrong side or wrong file"});
    return std::move(bench).judgement();
  }
  judge_plain_faults(bench);
  judge_slight_faults(bench);
  judge_patterns(bench);
  judge_jumps(bench);
  judge_loudest_fault(bench);
  judge_eccentricity(bench);
  judge_speed(bench);
  judge_wow(bench);
  judge_noise(bench);
  judge_tone(bench);
  return std::move(bench).judgement();
}

}  // namespace goodside::listen
