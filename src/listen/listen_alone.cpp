#include "listen/listen_alone.hpp"

#include <fmt/format.h>

#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include "listen/audibility.hpp"
#include "listen/capture_noise.hpp"
#include "listen/chance.hpp"
#include "listen/patterns.hpp"
#include "listen/prediction_faults.hpp"
#include "listen/revolution.hpp"
#include "listen/tone_track.hpp"
#include "listen/verdict.hpp"

namespace goodside::listen {
namespace {

constexpr double least_capture_s = 5.0;
constexpr double faults_share = 0.75;             // of the work, for the progress told
constexpr double false_per_min = 0.5;             // of vinyl
constexpr double false_in_crackle_per_min = 2.0;  // of a filled surface, whose own ticks they are
constexpr double many_per_min = 20.0;
constexpr std::size_t enough_angles = 10;
constexpr double sure_chance = 1e-3;
constexpr double wrong_speed = 0.01;  // more than any drive in order

works::AudioFile describe(const signal::SampleSource& capture) {
  works::AudioFile file;
  file.sample_rate_Hz = capture.sample_rate_Hz();
  file.channels = capture.channels();
  file.duration_s = static_cast<double>(capture.frames()) / capture.sample_rate_Hz();
  return file;
}

std::vector<works::Undetermined> unknowable() {
  const std::string no_place = "only the cut tells which place of the programme a moment is";
  return {{"alignment", "there is no reference to lay the capture on"},
          {"heard", no_place},
          {"faults.programme_s", no_place},
          {"faults.revolution", "the capture's first sample is not where the programme begins"},
          {"faults.angle_deg", "the capture's first sample is not where the programme begins"},
          {"faults.radius_m", no_place},
          {"faults.slight", "without the cut a slight fault cannot be told from the programme"},
          {"faults.dropout", "without the cut programme that is missing cannot be missed"},
          {"faults.jump", "without the cut a skip or repeat cannot be told from the programme"},
          {"levels", "there is nothing to compare the levels with"},
          {"noise.echo", "without the cut an echo cannot be told from the programme"}};
}

works::FaultEvent fault_of(const PredictionFault& found) {
  works::FaultEvent fault;
  fault.kind = found.named.kind;
  fault.channel = found.named.channel;
  fault.plane = found.named.plane;
  fault.capture_s = found.at_s;
  fault.duration_s = found.duration_s;
  fault.peak_dB = found.features.peak_dB;
  fault.excess_dB = found.features.excess_dB;
  fault.audibility = works::Audibility::plain;
  return fault;
}

/// Angles count from the capture's first sample while the patterns are sought.
std::vector<works::Pattern> patterns_from_start(std::vector<works::FaultEvent>& faults,
                                                double duration_s,
                                                double rpm) {
  for (works::FaultEvent& fault : faults) fault.programme_s = fault.capture_s;
  const works::Interval_s whole{0.0, duration_s};
  auto patterns = find_patterns(faults, {&whole, 1}, {.rpm = rpm});
  for (works::FaultEvent& fault : faults) fault.programme_s.reset();
  return patterns;
}

void report_faults_alone(const PredictionFindings& findings,
                         double rpm,
                         works::ListeningReport& report) {
  for (const PredictionFault& found : findings.faults) {
    if (audibility({found.fault_energy, found.noise_energy, found.programme_energy}) ==
        works::Audibility::plain) {
      report.faults.push_back(fault_of(found));
      report.faults.back().id = static_cast<int>(report.faults.size());
    } else {
      ++report.masked_count;
    }
  }
  report.patterns = patterns_from_start(report.faults, report.capture.duration_s, rpm);
  report.remarks.push_back(fmt::format(
      "heard without its cut: plain ticks and pops only; of {} bursts about {:.2g} may be "
      "programme or surface, and more where it has clicks of its own",
      findings.candidates,
      findings.expected_false));
  report.remarks.emplace_back(
      "times, turns and angles count from the capture's first sample, peaks from its full scale");
  const auto plain = static_cast<double>(report.faults.size());
  if (plain > many_per_min * report.capture.duration_s / 60.0)
    report.remarks.emplace_back(
        "so many bursts stand out that either the surface crackles or the programme has clicks of "
        "its own: hear it before the disc is blamed");
  if (!report.patterns.empty())
    report.remarks.emplace_back(
        "a pattern of faults heard without the cut may be a rhythm that keeps time with the turn: "
        "look at the disc");
}

/// Ticks that gather at one side of the disc without making a line.
void remark_on_angles(double rpm, works::ListeningReport& report) {
  std::vector<double> angles_deg;
  for (const works::FaultEvent& fault : report.faults) {
    const double turns = fault.capture_s * rpm / 60.0;
    angles_deg.push_back(360.0 * (turns - std::floor(turns)));
  }
  if (angles_deg.size() < enough_angles) return;
  const RayleighTest test = rayleigh_test(angles_deg);
  if (test.chance < sure_chance)
    report.remarks.push_back(
        fmt::format("the faults gather about {:.0f}° of the turn, counted from the capture's first "
                    "sample (by chance one time in {:.0g})",
                    test.direction_deg,
                    1.0 / test.chance));
}

void report_noise_alone(const CaptureNoiseFound& found, works::ListeningReport& report) {
  report.noise = found.noise;
  report.undetermined.insert(
      report.undetermined.end(), found.undetermined.begin(), found.undetermined.end());
  if (found.swing)
    report.remarks.push_back(
        fmt::format("the surface noise swings by {:.1f} dB once a turn and is loudest at {:.0f}°, "
                    "counted from the capture's first sample",
                    found.swing->swing_dB,
                    found.swing->loudest_deg));
}

/// The turn, from what is no programme.
void report_turn(TurnHeard heard,
                 const PredictionFindings& findings,
                 double rpm,
                 works::ListeningReport& report) {
  for (const PredictionFault& fault : findings.faults) heard.ticks_s.push_back(fault.at_s);
  TurnFound found = find_turn(heard);
  if (!found.turn) {
    report.undetermined.push_back({"turn", std::move(found.why)});
    return;
  }
  const double error = found.turn->rpm / rpm - 1.0;
  if (std::abs(error) > wrong_speed)
    report.remarks.push_back(fmt::format(
        "the surface turns at {:.2f} ± {:.2f} rpm, {:+.1f} % from the {:.4g} asked for: see to the "
        "turntable's speed and the format; turns and angles count at the latter",
        found.turn->rpm,
        found.turn->sigma_rpm,
        100.0 * error,
        rpm));
  report.turn = std::move(found.turn);
}

/// A steady tone tells the speed and its wander, though not at which radius.
void report_tone(ToneFound found, works::ListeningReport& report) {
  if (!found.tone) {
    report.undetermined.push_back({"tone", found.why});
    report.undetermined.push_back(
        {"wow", "without the cut or a steady tone the programme tells no speed"});
    return;
  }
  report.wow.weighted_2sigma = found.tone->weighted_2sigma;
  report.wow.weighted_peak = found.tone->weighted_peak;
  report.wow.curve = std::move(found.curve);
  for (const char* field : {"wow.eccentricity_m", "wow.once_per_rev_peak"})
    report.undetermined.push_back({field, "the radius of the tone's groove is not known"});
  report.tone = std::move(found.tone);
  report.undetermined.insert(
      report.undetermined.end(), found.undetermined.begin(), found.undetermined.end());
  report.remarks.insert(report.remarks.end(), found.remarks.begin(), found.remarks.end());
}

}  // namespace

Result<works::ListeningReport> listen_alone(const signal::SampleSource& capture,
                                            const Options& options,
                                            const Progress& progress) {
  works::ListeningReport report;
  report.capture = describe(capture);
  if (report.capture.duration_s < least_capture_s)
    return Error{Fault::bad_input,
                 "the capture is shorter than 5 s: too little to judge a side by"};
  const works::CutSide& side = options.side;
  report.geometry = {side.format, side.rpm, side.outer_radius_m, side.inner_radius_m, side.pitch_m};
  report.undetermined = unknowable();

  const auto part = [&](double from, double width) {
    return [&, from, width](double share) { return !progress || progress(from + width * share); };
  };
  const auto faults = find_prediction_faults(
      capture,
      {.false_alarms_per_min = side.shellac_type ? false_in_crackle_per_min : false_per_min,
       .crackle_is_noise = side.shellac_type,
       .jobs = options.jobs},
      part(0.0, faults_share));
  if (!faults) return faults.error();
  report_faults_alone(*faults, side.rpm, report);
  remark_on_angles(side.rpm, report);

  CaptureNoiseSetting setting{.rpm = side.rpm, .disturbed = {}, .jobs = options.jobs};
  for (const PredictionFault& fault : faults->faults)
    setting.disturbed.push_back({fault.at_s, fault.at_s + fault.duration_s});
  const auto noise = measure_noise(capture, setting, part(faults_share, 1.0 - faults_share));
  if (!noise) return noise.error();
  report_noise_alone(*noise, report);
  report_turn(noise->turn, *faults, side.rpm, report);

  auto tone = track_tone(capture, {});
  if (!tone) return tone.error();
  report_tone(std::move(*tone), report);

  const Judgement judgement = judge(report, options.limits);
  report.verdict = judgement.verdict;
  report.remarks.insert(report.remarks.end(), judgement.remarks.begin(), judgement.remarks.end());
  return report;
}

}  // namespace goodside::listen
