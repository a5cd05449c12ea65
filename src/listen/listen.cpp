#include "listen/listen.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <mutex>
#include <thread>
#include <tuple>

#include "disc/groove.hpp"
#include "listen/features.hpp"
#include "listen/kinematics.hpp"
#include "listen/place.hpp"
#include "listen/report_faults.hpp"
#include "listen/side_residual.hpp"
#include "listen/side_track.hpp"
#include "listen/verdict.hpp"

namespace goodside::listen {
namespace {

constexpr double least_capture_s = 5.0;
constexpr double mono_side_share = 1e-5;  // 50 dB under both channels together
constexpr double place_share = 0.15;      // of the work, for the progress told
constexpr double track_share = 0.35;

works::AudioFile describe(const signal::SampleSource& source) {
  works::AudioFile file;
  file.sample_rate_Hz = source.sample_rate_Hz();
  file.channels = source.channels();
  file.duration_s = static_cast<double>(source.frames()) / source.sample_rate_Hz();
  return file;
}

struct Heard {
  Features capture, reference;
};

/// Both recordings' features, each on a thread of its own.
Result<Heard> hear_both(const signal::SampleSource& capture,
                        const signal::SampleSource& reference,
                        const std::function<bool(double)>& go_on) {
  auto heard = capture.again();
  if (!heard) return heard.error();
  auto cut = reference.again();
  if (!cut) return cut.error();
  std::mutex lock;
  const auto told = [&](double share) {
    const std::lock_guard guard{lock};
    return go_on(share);
  };
  Result<Features> reference_features = Error{};
  Result<Features> capture_features = Error{};
  {
    const std::jthread other{
        [&] { reference_features = hear_features(**cut, [&](double) { return told(-1.0); }); }};
    capture_features = hear_features(**heard, told);
  }
  if (!capture_features)
    return Error{capture_features.error().fault, "the capture: " + capture_features.error().text};
  if (!reference_features)
    return Error{reference_features.error().fault,
                 "the reference: " + reference_features.error().text};
  return Heard{std::move(*capture_features), std::move(*reference_features)};
}

void not_found(works::ListeningReport& report, const Placement& placement) {
  report.alignment = works::Alignment{};
  report.alignment->confidence = std::clamp(placement.confidence, 0.0, 1.0);
  const std::string why =
      "the capture does not follow this reference: another title or side, or not steady playing";
  for (const char* field : {"wow", "levels", "noise", "faults"})
    report.undetermined.push_back({field, why});
}

std::vector<works::Interval_s> heard_intervals(const SideTrack& track,
                                               double programme_duration_s) {
  std::vector<works::Interval_s> parts;
  for (const FollowedStretch& stretch : track.stretches) {
    const double from_s =
        std::clamp(stretch.curve.programme_at(stretch.capture_from_s), 0.0, programme_duration_s);
    const double to_s =
        std::clamp(stretch.curve.programme_at(stretch.capture_to_s), 0.0, programme_duration_s);
    if (to_s > from_s) parts.push_back({from_s, to_s});
  }
  std::ranges::sort(parts, {}, &works::Interval_s::from_s);
  std::vector<works::Interval_s> merged;
  for (const works::Interval_s& part : parts) {
    if (!merged.empty() && part.from_s <= merged.back().to_s + 1e-3)
      merged.back().to_s = std::max(merged.back().to_s, part.to_s);
    else
      merged.push_back(part);
  }
  return merged;
}

TimeTrack time_track(const SideTrack& track, double programme_duration_s) {
  TimeTrack result;
  for (const FollowedStretch& stretch : track.stretches) {
    Stretch part{0.0, track_hop_s, {}, {}};
    for (std::size_t k = 0; k < stretch.track.programme_s.size(); ++k) {
      const double capture_s = stretch.track.capture_from_s + static_cast<double>(k) * track_hop_s;
      const double programme_s = stretch.track.programme_s[k];
      if (capture_s < stretch.capture_from_s || capture_s > stretch.capture_to_s) continue;
      if (programme_s < 0.0 || programme_s > programme_duration_s) continue;
      if (part.programme_s.empty()) part.capture_from_s = capture_s;
      part.programme_s.push_back(programme_s);
      part.sigma_s.push_back(stretch.track.sigma_s[k]);
    }
    if (part.programme_s.size() >= 2) result.push_back(std::move(part));
  }
  return result;
}

double end_to_end_ppm(const TimeTrack& track) {
  double programme_s = 0.0;
  double capture_s = 0.0;
  for (const Stretch& stretch : track) {
    programme_s += stretch.programme_s.back() - stretch.programme_s.front();
    capture_s += static_cast<double>(stretch.programme_s.size() - 1) * stretch.hop_s;
  }
  return capture_s > 0.0 ? 1e6 * (programme_s / capture_s - 1.0) : 0.0;
}

void append(std::vector<works::Undetermined>& all, const std::vector<works::Undetermined>& more) {
  all.insert(all.end(), more.begin(), more.end());
}

/// What a captured reference cannot tell, since it has a speed, a hole and a surface of its own.
void measured_against_a_capture(works::ListeningReport& report) {
  report.alignment->drive_error_ppm.reset();
  report.undetermined.push_back(
      {"alignment.drive_error_ppm",
       "the reference was itself played: speed and hole offset are against its own"});
  report.remarks.emplace_back(
      "speed, wow, hole offset and noise are against those of the reference, which was itself "
      "played");
}

/// One channel says nothing about two.
void leave_out_channels(LevelsFound& found) {
  for (const auto& [figure, sigma, field] :
       {std::tuple{
            &works::Levels::balance_dB, &works::Levels::balance_sigma_dB, "levels.balance_dB"},
        {&works::Levels::separation_dB,
         &works::Levels::separation_sigma_dB,
         "levels.separation_dB"}}) {
    (found.levels.*figure).reset();
    (found.levels.*sigma).reset();
    std::erase_if(found.undetermined, [&](const auto& one) { return one.field == field; });
    found.undetermined.push_back({field, "the capture has one channel"});
  }
}

}  // namespace

Result<works::ListeningReport> listen(const signal::SampleSource& capture,
                                      const signal::SampleSource& reference,
                                      const Options& options,
                                      const Progress& progress) {
  works::ListeningReport report;
  report.capture = describe(capture);
  report.reference = works::Reference{describe(reference), works::ReferenceKind::file};
  if (report.capture.duration_s < least_capture_s)
    return Error{Fault::bad_input, "the capture is shorter than 5 s: too little to lay on the cut"};
  if (report.reference->file.duration_s < least_capture_s)
    return Error{Fault::bad_input,
                 "the reference is shorter than 5 s: too little to lay a capture on"};
  const double programme_duration_s = report.reference->file.duration_s;
  auto groove = disc::Groove::of(options.side, programme_duration_s);
  if (!groove) return groove.error();
  report.geometry = {options.side.format,
                     groove->rpm(),
                     groove->radius_m(0.0),
                     groove->radius_m(programme_duration_s),
                     groove->pitch_m(0.5 * programme_duration_s)};

  std::atomic<bool> stopped{false};
  const auto part = [&](double from, double width) {
    return [&, from, width](double share) {
      if (!stopped && share >= 0.0 && progress && !progress(from + width * share)) stopped = true;
      return !stopped;
    };
  };
  auto heard = hear_both(capture, reference, part(0.0, place_share));
  if (!heard) return heard.error();
  const bool mono = heard->reference.side_share < mono_side_share;
  const bool capture_mono = capture.channels() == 1 || heard->capture.side_share < mono_side_share;
  const Placement placement = place(heard->capture, heard->reference, groove->turn_s());
  SideTrack track;
  if (placement.found) {
    auto followed = follow_side(capture,
                                reference,
                                placement,
                                {mono, groove->turn_s(), options.jobs},
                                part(place_share, track_share));
    if (!followed) return followed.error();
    track = std::move(*followed);
  }
  if (track.stretches.empty()) {
    not_found(report, placement);
    const Judgement judgement = judge(report, options.limits);
    report.verdict = judgement.verdict;
    report.remarks.insert(report.remarks.end(), judgement.remarks.begin(), judgement.remarks.end());
    return report;
  }

  const auto radius_m = [groove = *groove](double programme_s) {
    return groove.radius_m(programme_s);
  };
  const TimeTrack times = time_track(track, programme_duration_s);
  KinematicsResult motion = kinematics(
      times,
      options.side,
      radius_m,
      {options.bench.arm, options.bench.clock_error_ppm, options.bench.clock_calibrated});

  works::Alignment alignment;
  alignment.found = true;
  alignment.programme_start_s = track.stretches.front().curve.capture_at(0.0);
  alignment.programme_end_s = track.stretches.back().curve.capture_at(programme_duration_s);
  alignment.programme_sigma_s = std::hypot(
      track.typical_sigma_s,
      std::max(track.stretches.front().start_sigma_s, track.stretches.back().end_sigma_s));
  alignment.speed_error_ppm = motion.speed_error_ppm.value_or(end_to_end_ppm(times));
  alignment.drive_error_ppm = motion.drive_error_ppm;
  alignment.gain_dB = 20.0 * std::log10(std::max(track.gain, 1e-6));
  alignment.polarity = track.polarity;
  alignment.channels = mono || capture_mono ? works::ChannelOrder::mono
                       : track.swapped      ? works::ChannelOrder::swapped
                                            : works::ChannelOrder::as_cut;
  alignment.confidence = std::clamp(placement.confidence, 0.0, 1.0);
  report.alignment = alignment;
  report.heard = heard_intervals(track, programme_duration_s);
  report.wow = std::move(motion.wow);
  if (motion.turn_rate.fitted) report.geometry.rpm = motion.turn_rate.rpm;
  append(report.undetermined, motion.undetermined);
  report.remarks = std::move(motion.remarks);
  if (!options.bench.clock_calibrated)
    report.remarks.emplace_back(
        "speed includes the sound card's clock, which is not calibrated: 20 to 50 ppm is common");
  if (capture.sample_rate_Hz() > 96001.0)
    report.remarks.emplace_back(
        "the capture was listened to at half its rate or less: nothing audible is lost");

  const ResidualSetting setting{mono,
                                report.geometry.rpm,
                                programme_duration_s,
                                radius_m,
                                options.captured_reference,
                                options.jobs};
  auto residual = hear_residual(capture,
                                reference,
                                track,
                                setting,
                                part(place_share + track_share, 1.0 - place_share - track_share));
  if (!residual) return residual.error();

  report.reference->own_faults = options.reference_faults;
  if (options.captured_reference) measured_against_a_capture(report);
  report_faults(
      {.events = residual->events,
       .ground = residual->ground,
       .track = track,
       .shellac_type = options.side.shellac_type,
       .rpm = report.geometry.rpm,
       .angle_sigma_deg_per_revolution = motion.turn_rate.angle_sigma_deg_per_revolution(),
       .radius_m = radius_m},
      report);

  LevelsFound levels = residual->levels.finish();
  if (capture.channels() == 1) leave_out_channels(levels);
  report.levels = levels.levels;
  append(report.undetermined, levels.undetermined);
  const WeightedNoiseFound noise = residual->noise.finish(alignment.gain_dB);
  report.noise.weighted_dB = noise.weighted_dB;
  report.noise.weighted_468_dB = noise.weighted_468_dB;
  report.noise.weighted_k_dB = noise.weighted_k_dB;
  report.noise.weighted_reference = noise.weighted_reference;
  report.noise.weighted_468_reference = noise.weighted_468_reference;
  report.noise.weighted_k_reference = noise.weighted_k_reference;
  append(report.undetermined, noise.undetermined);
  const NoiseMapFound map = residual->map.finish(alignment.gain_dB);
  report.noise.polar = map.map;
  if (!map.map) report.undetermined.push_back({"noise.polar", map.why});
  const LowNoiseFound low = residual->low.finish(alignment.gain_dB);
  report.noise.rumble_dB = low.rumble_dB;
  report.noise.rumble_unweighted_dB = low.rumble_unweighted_dB;
  report.noise.hum_dB = low.hum_dB;
  report.noise.rumble_reference = low.rumble_reference;
  report.noise.rumble_unweighted_reference = low.rumble_unweighted_reference;
  report.noise.hum_reference = low.hum_reference;
  append(report.undetermined, low.undetermined);
  const double turn_Hz = report.geometry.rpm / 60.0 * (1.0 + 1e-6 * alignment.speed_error_ppm);
  InfrasoundFound infrasound = residual->infrasound.finish(turn_Hz, alignment.gain_dB);
  report.warp = std::move(infrasound.warp);
  append(report.undetermined, infrasound.undetermined);
  const EchoFound echo = residual->echo.finish();
  report.noise.echo = echo.echo;
  append(report.undetermined, echo.undetermined);

  const Judgement judgement = judge(report, options.limits);
  report.verdict = judgement.verdict;
  report.remarks.insert(report.remarks.end(), judgement.remarks.begin(), judgement.remarks.end());
  if (progress) progress(1.0);
  if (options.keep) options.keep({std::move(track), residual->reading, mono});
  return report;
}

}  // namespace goodside::listen
