#include "line/hear_capture.hpp"

#include <fmt/format.h>

#include <future>
#include <memory>
#include <tuple>
#include <utility>
#include <vector>

#include "intake/audio_file.hpp"
#include "intake/audio_survey.hpp"
#include "line/heard_through.hpp"
#include "line/note_beside.hpp"
#include "listen/listen_alone.hpp"

namespace goodside::line {
namespace {

constexpr double smallest_radius_m = 0.025;

double length_s(const signal::SampleSource& source) {
  return static_cast<double>(source.frames()) / source.sample_rate_Hz();
}

Error about(const std::string& what, const Error& error) {
  if (error.text.find(what) != std::string::npos) return error;
  return {error.fault, fmt::format("{}: {}", what, error.text)};
}

/// Pitches that are cut, mean over a side [m]. Common practice, no source.
struct CutPitch {
  double finest_m, usual_m, widest_m;
};
CutPitch cut_pitch(const works::CutSide& side) {
  if (side.rpm > 60.0) return {1.5e-4, 2.67e-4, 6e-4};
  return {4e-5, 1.06e-4, 4e-4};
}

std::string pitch_remark(const char* told, double pitch_m) {
  return fmt::format(
      "{} pitch of {:.3f} mm: radii of faults and the offset follow from it; give --pitch or "
      "--inner-radius if it is another",
      told,
      pitch_m * 1e3);
}

std::string equalised_remark(const disc::Curve& curve, bool reference_too) {
  return fmt::format("the capture{} as recorded flat and heard through the playback curve {}",
                     reference_too ? " and the reference are taken" : " is taken",
                     disc::describe(curve));
}

/// What a file's samples show.
Result<std::vector<std::string>> examine(const std::string& path,
                                         const signal::SampleSource& source) {
  const auto surveyed = intake::survey(source);
  if (!surveyed) return about(path, surveyed.error());
  if (const auto sound = intake::require_sound(*surveyed, path); !sound)
    return about(path, sound.error());
  return intake::remarks(*surveyed, path);
}

}  // namespace

Result<CompletedSide> completed(const works::CutSide& side,
                                double programme_s,
                                bool usual_inner_radius) {
  CompletedSide whole{.side = side, .remark = ""};
  double &inner_m = whole.side.inner_radius_m, &pitch_m = whole.side.pitch_m;
  const double outer_m = side.outer_radius_m, turns = programme_s * side.rpm / 60.0;
  const CutPitch cut = cut_pitch(side);
  if (usual_inner_radius && pitch_m <= 0.0 && outer_m - inner_m > cut.widest_m * turns) {
    pitch_m = cut.usual_m;
    inner_m = outer_m - pitch_m * turns;
    whole.remark =
        pitch_remark("The programme is short for its format and is taken at the usual", pitch_m);
  }
  if (inner_m <= 0.0) inner_m = outer_m - pitch_m * turns;
  if (inner_m < smallest_radius_m)
    return Error{
        Fault::bad_input,
        fmt::format("{:.0f} turns from {:.1f} mm at a pitch of {:.4f} mm end at {:.1f} mm from the "
                    "centre, where no groove can be; check --pitch, --rpm and the reference",
                    turns,
                    outer_m * 1e3,
                    pitch_m * 1e3,
                    inner_m * 1e3)};
  if (inner_m >= outer_m)
    return Error{
        Fault::bad_input,
        fmt::format(
            "the inner radius, {:.1f} mm, is not within the outer one, {:.1f} mm; a cut runs "
            "inwards: check --inner-radius and --outer-radius",
            inner_m * 1e3,
            outer_m * 1e3)};
  if (pitch_m <= 0.0 && turns > 0.0) {
    pitch_m = (outer_m - inner_m) / turns;
    if (pitch_m < cut.finest_m || pitch_m > cut.widest_m)
      whole.remark = pitch_remark("Radii and length make an unlikely", pitch_m);
  }
  return whole;
}

Result<works::ListeningReport> hear_capture(const Hearing& hearing,
                                            const Engine& engine,
                                            const listen::Progress& progress) {
  const auto capture = intake::open_audio(hearing.capture);
  if (!capture) return about(hearing.capture, capture.error());
  const auto reference = intake::open_audio(hearing.reference);
  if (!reference) return about(hearing.reference, reference.error());

  const auto note = note_beside(hearing.reference);
  if (!note) return note.error();
  works::Reference stated;
  if (*note) stated = (*note)->reference;
  if (hearing.kind) stated.kind = *hearing.kind;
  const bool both = works::was_played(stated.kind);
  const auto heard_capture = heard_through(**capture, hearing.equalise);
  if (!heard_capture) return about(hearing.capture, heard_capture.error());
  const auto heard_reference = heard_through(**reference, both ? hearing.equalise : std::nullopt);
  if (!heard_reference) return about(hearing.reference, heard_reference.error());

  listen::Options options = hearing.options;
  options.captured_reference = both;
  if (*note) options.reference_faults = stated.own_faults;
  auto whole = completed(options.side, length_s(**reference), hearing.usual_inner_radius);
  if (!whole) return whole.error();
  options.side = std::move(whole->side);
  options.side.stereo = options.side.stereo && (*reference)->channels() == 2;

  // The capture is looked over and both are hashed while the engine works. The reference is looked over only
  // when something went wrong: a pass over the file costs the engine's other core.
  auto beside = std::async(std::launch::async, [&] {
    return std::tuple{examine(hearing.capture, **capture),
                      intake::identify(hearing.capture, **capture),
                      intake::identify(hearing.reference, **reference)};
  });
  auto report = engine(**heard_capture, **heard_reference, options, progress);
  auto [remarks, heard, cut] = beside.get();
  if (!report && report.error().fault == Fault::conflict) return report.error();
  if (!remarks) return remarks.error();
  if (!heard) return about(hearing.capture, heard.error());
  if (!cut) return about(hearing.reference, cut.error());
  if (!report) {
    if (const auto looked_over = examine(hearing.reference, **reference); !looked_over)
      return looked_over.error();
    return about(fmt::format("{} against {}", hearing.capture, hearing.reference), report.error());
  }
  if (*note && stated.file.sha256 != cut->sha256)
    return Error{
        Fault::bad_input,
        fmt::format(
            "{} is the note of another recording than {}; take it away or save the reference anew",
            note_path(hearing.reference),
            hearing.reference)};
  report->capture = std::move(*heard);
  if (report->reference) stated.own_faults = std::move(report->reference->own_faults);
  stated.file = std::move(*cut);
  report->reference = std::move(stated);
  report->remarks.insert(report->remarks.end(), remarks->begin(), remarks->end());
  if (!whole->remark.empty()) report->remarks.push_back(whole->remark);
  if (hearing.equalise && !disc::is_flat(*hearing.equalise))
    report->remarks.push_back(equalised_remark(*hearing.equalise, both));
  return report;
}

Result<works::ListeningReport> hear_alone(const Hearing& hearing,
                                          const listen::Progress& progress) {
  if (!hearing.options.side.marks.empty() || !hearing.options.side.pitch_profile.empty())
    return Error{
        Fault::bad_input,
        "marks and pitch profiles count programme time, which only a reference tells; give "
        "--reference or leave them out"};
  const auto capture = intake::open_audio(hearing.capture);
  if (!capture) return about(hearing.capture, capture.error());
  const auto through = heard_through(**capture, hearing.equalise);
  if (!through) return about(hearing.capture, through.error());
  listen::Options options = hearing.options;
  auto whole = completed(options.side, length_s(**capture), hearing.usual_inner_radius);
  if (!whole) return whole.error();
  options.side = std::move(whole->side);

  auto beside = std::async(std::launch::async, [&] {
    return std::pair{examine(hearing.capture, **capture),
                     intake::identify(hearing.capture, **capture)};
  });
  auto report = listen::listen_alone(**through, options, progress);
  auto [remarks, heard] = beside.get();
  if (!report && report.error().fault == Fault::conflict) return report.error();
  if (!remarks) return remarks.error();
  if (!heard) return about(hearing.capture, heard.error());
  if (!report) return about(hearing.capture, report.error());
  report->capture = std::move(*heard);
  report->remarks.insert(report->remarks.end(), remarks->begin(), remarks->end());
  if (hearing.equalise) report->remarks.push_back(equalised_remark(*hearing.equalise, false));
  return report;
}

}  // namespace goodside::line
