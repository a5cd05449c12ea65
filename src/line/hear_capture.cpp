#include "line/hear_capture.hpp"

#include <fmt/format.h>

#include <future>
#include <memory>

#include "intake/audio_file.hpp"

namespace goodside::line {
namespace {

constexpr double smallest_radius_m = 0.025;

double length_s(const signal::SampleSource& source) {
  return static_cast<double>(source.frames()) / source.sample_rate_Hz();
}

/// The engine knows no names: the file that the sentence is about is put before it.
Error about(const std::string& path, const Error& error) {
  if (error.text.find(path) != std::string::npos) return error;
  return {error.fault, fmt::format("{}: {}", path, error.text)};
}

}  // namespace

Result<works::CutSide> completed(const works::CutSide& side, double programme_s) {
  works::CutSide whole = side;
  const double turns = programme_s * side.rpm / 60.0;
  if (whole.inner_radius_m <= 0.0)
    whole.inner_radius_m = side.outer_radius_m - side.pitch_m * turns;
  if (whole.inner_radius_m < smallest_radius_m)
    return Error{
        Fault::bad_input,
        fmt::format("{:.0f} turns from {:.1f} mm at a pitch of {:.4f} mm end at {:.1f} mm from the "
                    "centre, where no groove can be; check --pitch, --rpm and the reference",
                    turns,
                    side.outer_radius_m * 1e3,
                    side.pitch_m * 1e3,
                    whole.inner_radius_m * 1e3)};
  if (whole.inner_radius_m >= whole.outer_radius_m)
    return Error{
        Fault::bad_input,
        fmt::format(
            "the inner radius, {:.1f} mm, is not within the outer one, {:.1f} mm; a cut runs "
            "inwards: check --inner-radius and --outer-radius",
            whole.inner_radius_m * 1e3,
            whole.outer_radius_m * 1e3)};
  if (whole.pitch_m <= 0.0 && turns > 0.0)
    whole.pitch_m = (whole.outer_radius_m - whole.inner_radius_m) / turns;
  return whole;
}

Result<works::ListeningReport> hear_capture(const Hearing& hearing,
                                            const Engine& engine,
                                            const listen::Progress& progress) {
  const auto capture = intake::open_audio(hearing.capture);
  if (!capture) return about(hearing.capture, capture.error());
  const auto reference = intake::open_audio(hearing.reference);
  if (!reference) return about(hearing.reference, reference.error());

  listen::Options options = hearing.options;
  auto side = completed(options.side, length_s(**reference));
  if (!side) return side.error();
  options.side = std::move(*side);
  options.side.stereo = options.side.stereo && (*reference)->channels() == 2;

  const auto facts_of = [](const std::string& path, const signal::SampleSource& source) {
    return std::async(std::launch::async,
                      [&path, &source] { return intake::identify(path, source); });
  };
  auto capture_facts = facts_of(hearing.capture, **capture);
  auto reference_facts = facts_of(hearing.reference, **reference);

  auto report = engine(**capture, **reference, options, progress);
  auto heard = capture_facts.get();
  auto cut = reference_facts.get();
  if (!report) return about(hearing.capture, report.error());
  if (!heard) return about(hearing.capture, heard.error());
  if (!cut) return about(hearing.reference, cut.error());
  report->capture = std::move(*heard);
  report->reference = works::Reference{.file = std::move(*cut), .kind = hearing.kind};
  return report;
}

}  // namespace goodside::line
