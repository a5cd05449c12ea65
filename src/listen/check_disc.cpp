#include "listen/check_disc.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>
#include <optional>
#include <string>
#include <utility>

#include "stats/individuals.hpp"
#include "stats/interval.hpp"
#include "stats/line_fit.hpp"

namespace goodside::listen {
namespace {

using works::BenchMeasure;
using works::ListeningReport;

constexpr int least_plays = 6, least_first_plays = 4, run_length = 8;
constexpr double bass_to_Hz = 150.0, treble_from_Hz = 5000.0;

using Figure = std::optional<double>;

/// What of the bench a measure speaks of.
enum class Part { speed, gain, seat, wow, balance, azimuth, stylus, noise, hum, rumble, band };

struct Charted {
  std::string field, name, unit;
  Part part;
  std::function<Figure(const ListeningReport&)> of;
  int family{1};       ///< charts that share one error
  double centre_Hz{};  ///< of a third octave
};

Figure speed_ppm(const ListeningReport& play) {
  if (!play.alignment) return {};
  return play.alignment->drive_error_ppm ? play.alignment->drive_error_ppm
                                         : Figure{play.alignment->speed_error_ppm};
}

Figure gain_dB(const ListeningReport& play) {
  return play.alignment ? Figure{play.alignment->gain_dB} : Figure{};
}

Figure scaled(const Figure& value, double times) {
  return value ? Figure{*value * times} : Figure{};
}

std::vector<Charted> whole_side_measures() {
  return {
      {"alignment.speed_error_ppm", "speed", "ppm", Part::speed, speed_ppm},
      {"alignment.gain_dB", "gain", "dB", Part::gain, gain_dB},
      {"wow.eccentricity_m",
       "offset as seated",
       "mm",
       Part::seat,
       [](const auto& play) { return scaled(play.wow.eccentricity_m, 1e3); }},
      {"wow.weighted_2sigma",
       "wow and flutter",
       "%",
       Part::wow,
       [](const auto& play) { return scaled(play.wow.weighted_2sigma, 1e2); }},
      {"levels.balance_dB",
       "balance",
       "dB",
       Part::balance,
       [](const auto& play) { return play.levels.balance_dB; }},
      {"levels.separation_dB",
       "separation",
       "dB",
       Part::azimuth,
       [](const auto& play) { return play.levels.separation_dB; }},
      {"levels.high_loss_dB_per_m",
       "treble loss",
       "dB a cm",
       Part::stylus,
       [](const auto& play) { return scaled(play.levels.high_loss_dB_per_m, 1e-2); }},
      {"noise.weighted_dB",
       "noise",
       "dB",
       Part::noise,
       [](const auto& play) { return play.noise.weighted_dB; }},
      {"noise.hum_dB", "hum", "dB", Part::hum, [](const auto& play) { return play.noise.hum_dB; }},
      {"noise.rumble_dB",
       "rumble",
       "dB",
       Part::rumble,
       [](const auto& play) { return play.noise.rumble_dB; }},
  };
}

double level_dB(const works::ThirdOctave& band) {
  return 0.5 * (band.left_dB + band.right_dB);
}

/// A third octave against the mean of those from 250 Hz to 9 kHz, so that gain is not charted
/// thirty times.
Figure tone_dB(const ListeningReport& play, double centre_Hz) {
  constexpr double lowest_Hz = 240.0, highest_Hz = 9000.0, same = 1e-3;
  double sum_dB = 0.0;
  int count = 0;
  Figure own;
  for (const auto& band : play.levels.third_octave) {
    if (std::abs(band.centre_Hz - centre_Hz) < same * centre_Hz) own = level_dB(band);
    if (band.centre_Hz < lowest_Hz || band.centre_Hz > highest_Hz) continue;
    sum_dB += level_dB(band);
    ++count;
  }
  if (!own || count == 0) return {};
  return *own - sum_dB / count;
}

std::vector<Charted> measures_of(std::span<const ListeningReport> plays) {
  auto all = whole_side_measures();
  const auto& bands = plays.front().levels.third_octave;
  for (const auto& band : bands)
    all.push_back(
        {fmt::format("levels.third_octave.{:.4g}", band.centre_Hz),
         band.centre_Hz < 1000.0 ? fmt::format("{:.3g} Hz", band.centre_Hz)
                                 : fmt::format("{:.3g} kHz", band.centre_Hz * 1e-3),
         "dB",
         Part::band,
         [centre_Hz = band.centre_Hz](const auto& play) { return tone_dB(play, centre_Hz); },
         static_cast<int>(bands.size()),
         band.centre_Hz});
  return all;
}

/// The plays that have one measure.
struct Series {
  std::vector<int> play;  ///< from 0
  std::vector<double> day, value;
  std::size_t first{};  ///< how many of them are first plays
};

Series series_of(const Charted& charted,
                 std::span<const ListeningReport> plays,
                 const std::vector<double>& day,
                 int first_plays) {
  Series series;
  for (std::size_t p = 0; p < plays.size(); ++p) {
    const Figure value = charted.of(plays[p]);
    if (!value || !std::isfinite(*value)) continue;
    series.play.push_back(static_cast<int>(p));
    series.day.push_back(day[p]);
    series.value.push_back(*value);
    if (static_cast<int>(p) < first_plays) ++series.first;
  }
  return series;
}

/// The eight latest of the later plays on one side of the centre.
bool runs_on_one_side(const Series& series, double centre) {
  if (series.value.size() - series.first < run_length) return false;
  const auto latest = std::span{series.value}.last(run_length);
  return std::ranges::all_of(latest, [&](double value) { return value > centre; }) ||
         std::ranges::all_of(latest, [&](double value) { return value < centre; });
}

void put_drift(const Series& series, int family, BenchMeasure& measure) {
  constexpr double beyond_three_sigma = 0.00134989803163;
  const auto fit = stats::fit_line(series.day, series.value);
  const double t = stats::student_t_quantile(1.0 - beyond_three_sigma / family,
                                             static_cast<double>(fit.degrees_of_freedom));
  measure.drift_per_day = fit.slope;
  measure.drift_low = fit.slope - t * fit.slope_sigma;
  measure.drift_high = fit.slope + t * fit.slope_sigma;
}

void judge_movement(const Series& series, BenchMeasure& measure) {
  const double shift = measure.latest - measure.centre;
  const auto moved = [&](std::string how) {
    measure.moved = true;
    measure.how = std::move(how);
  };
  for (std::size_t i = series.first; i < series.value.size(); ++i)
    if (series.value[i] < measure.low || series.value[i] > measure.high)
      measure.outside.push_back(series.play[i] + 1);
  const bool latest_is_later = series.value.size() > series.first;
  if (latest_is_later && !measure.outside.empty() &&
      measure.outside.back() == series.play.back() + 1)
    return moved(fmt::format("{:+.3g} {} from where it stood", shift, measure.unit));
  if (latest_is_later && runs_on_one_side(series, measure.centre))
    return moved(fmt::format(
        "{} plays running {} where it stood", run_length, shift > 0.0 ? "above" : "below"));
  if (*measure.drift_low > 0.0 || *measure.drift_high < 0.0)
    moved(fmt::format("drifts {:+.3g} {} a day", *measure.drift_per_day, measure.unit));
}

std::optional<BenchMeasure> chart(const Charted& charted, const Series& series) {
  if (series.first < least_first_plays) return {};
  const auto first = std::span{series.value}.first(series.first);
  const auto still = stats::individuals(first);
  const double half = stats::half_width(still, charted.family);
  constexpr double confidence = 0.95;
  const auto spread =
      stats::deviation_interval(still.deviation, static_cast<double>(still.count - 1), confidence);
  BenchMeasure measure{.field = charted.field,
                       .name = charted.name,
                       .unit = charted.unit,
                       .plays = static_cast<int>(series.value.size()),
                       .centre = still.centre,
                       .low = still.centre - half,
                       .high = still.centre + half,
                       .repeatability = still.deviation,
                       .repeatability_low = spread.low,
                       .repeatability_high = spread.high,
                       .latest = series.value.back()};
  put_drift(series, charted.family, measure);
  judge_movement(series, measure);
  return measure;
}

/// What to look at first where this has moved. Common practice, no source.
std::string advice(const Charted& charted, const BenchMeasure& measure) {
  const bool up = measure.latest > measure.centre;
  switch (charted.part) {
    case Part::speed:
      return "speed: the belt or drive, its speed setting, and the sound card's clock";
    case Part::gain:
      return "gain: the level control, preamplifier and sound card's input";
    case Part::seat:
      return "offset: the disc's seat on the spindle; reseat it and play it again";
    case Part::wow:
      return "wow: belt, bearing and motor mount";
    case Part::balance:
      return "balance: side thrust (anti-skating), azimuth, one channel's gain, cartridge leads";
    case Part::azimuth:
      return "separation: the cartridge's azimuth and seat in its shell";
    case Part::stylus:
      return "loss of treble inwards: the stylus, worn or dirty, and the tracking force";
    case Part::noise:
      return "noise: stylus and check disc, clean and unworn; then the preamplifier";
    case Part::hum:
      return "hum: earth lead, shielding, transformers near the arm";
    case Part::rumble:
      return "rumble: bearing, motor mount, the table's feet and what stands on the bench";
    case Part::band:
      break;
  }
  if (charted.centre_Hz >= treble_from_Hz)
    return up ? "treble up: cartridge loading, the playback curve, the stylus if it was changed"
              : "treble down: the stylus, worn or dirty, and the tracking force";
  if (charted.centre_Hz <= bass_to_Hz)
    return "bass: arm and cartridge seat, tracking force, the playback curve";
  return "middle of the range: the playback curve and the preamplifier's settings";
}

Outcome check_input(std::span<const ListeningReport> plays,
                    const std::vector<double>& day,
                    int first_plays) {
  const auto bad = [](const std::string& what) { return Error{Fault::bad_input, what}; };
  const auto count = static_cast<int>(plays.size());
  if (count < least_plays)
    return bad(fmt::format("{} of the check disc; {} are needed before a bench can be seen to move",
                           count == 1 ? "1 play" : fmt::format("{} plays", count),
                           least_plays));
  for (const auto& play : plays) {
    if (!play.reference || !play.alignment || !play.alignment->found)
      return bad(play.capture.path +
                 ": not heard against the check disc's cut; leave it out or hear it with its "
                 "reference");
    if (play.reference->file.sha256 != plays.front().reference->file.sha256)
      return bad(play.capture.path + ": heard against another cut than the first play");
  }
  if (day.size() != plays.size())
    return bad(fmt::format("{} days for {} plays; give one a play", day.size(), count));
  if (std::ranges::adjacent_find(day, std::greater_equal{}) != day.end())
    return bad("the days do not grow; give the plays in order of time");
  if (first_plays < least_first_plays || first_plays >= count)
    return bad(
        fmt::format("{} first plays of {}; a chart stands on {} or more and leaves one to judge",
                    first_plays,
                    count,
                    least_first_plays));
  return Done{};
}

}  // namespace

Result<works::BenchCheck> check_bench(std::span<const ListeningReport> plays,
                                      const CheckDiscOptions& options) {
  const auto count = static_cast<int>(plays.size());
  works::BenchCheck check;
  check.day = options.day;
  if (check.day.empty()) {
    check.day.resize(plays.size());
    std::iota(check.day.begin(), check.day.end(), 0.0);
  }
  constexpr int fewest = 5, most = 20;
  check.first_plays =
      options.first_plays > 0 ? options.first_plays : std::clamp(count / 2, fewest, most);
  if (const auto usable = check_input(plays, check.day, check.first_plays); !usable)
    return usable.error();
  for (const auto& play : plays) check.plays.push_back(play.capture.path);

  for (const auto& charted : measures_of(plays)) {
    const auto measure = chart(charted, series_of(charted, plays, check.day, check.first_plays));
    if (!measure) continue;
    if (measure->moved) {
      check.moved = true;
      const std::string look = advice(charted, *measure);
      if (std::ranges::find(check.look_at, look) == check.look_at.end())
        check.look_at.push_back(look);
    }
    check.measures.push_back(*measure);
  }
  constexpr int usual_first_plays = 10;
  if (check.first_plays < usual_first_plays)
    check.remarks.push_back(
        fmt::format("the chart stands on {} plays; with {} or more it sees smaller movements",
                    check.first_plays,
                    usual_first_plays));
  if (check.moved)
    check.remarks.push_back(
        "a check disc wears: if a second one, seldom played, has not moved, it is the disc");
  return check;
}

}  // namespace goodside::listen
