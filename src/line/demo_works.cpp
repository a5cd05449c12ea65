#include "line/demo_works.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <future>
#include <optional>
#include <system_error>
#include <utility>

#include "base/expects.hpp"
#include "disc/format.hpp"
#include "disc/surface_noise.hpp"
#include "draw/portrait.hpp"
#include "draw/report_page.hpp"
#include "intake/audio_writer.hpp"
#include "intake/limits.hpp"
#include "intake/safe_file.hpp"
#include "json/listening_report.hpp"
#include "line/demo_tune.hpp"
#include "line/play_side.hpp"
#include "line/worst_sounds.hpp"

namespace goodside::line {
namespace {

namespace fs = std::filesystem;
using works::FaultPlan;
using works::PlannedKind;

constexpr int rate_Hz = 48000;
constexpr DemoTune reel{.seed = 11, .tonic_Hz = 146.83, .beat_s = 0.42};
constexpr DemoTune slow_air{.seed = 23, .tonic_Hz = 130.81, .beat_s = 0.61};

struct Pressing {
  DemoDisc disc;
  DemoTune tune;
  works::PlayedSide played;
};

/// A loud single, widely cut: 48 s make 36 turns, 7 mm of the side.
works::CutSide demo_side() {
  auto side = disc::cut_side("7in-45");
  EXPECTS(side.has_value());
  side->pitch_m = 0.2e-3;
  side->inner_radius_m = 0.0;
  return *side;
}

listen::Bench demo_bench() {
  return {.arm = {.effective_length_m = 0.230, .mounting_distance_m = 0.212},
          .clock_error_ppm = 0.0,
          .clock_calibrated = true};
}

/// A disc without a fault, on the bench of the works.
works::PlayedSide good_disc(std::uint64_t seed) {
  works::PlayedSide played;
  played.side = demo_side();
  played.arm = demo_bench().arm;
  played.eccentricity_m = 0.03e-3;
  played.eccentricity_direction_deg = 40.0;
  played.drive.speed_error = 0.0008;
  played.surface = disc::vinyl_surface();
  played.sample_rate_Hz = rate_Hz;
  played.seed = seed;
  return played;
}

FaultPlan fault(PlannedKind kind, double programme_s, double peak_dB, int turns = 0) {
  FaultPlan plan;
  plan.kind = kind;
  plan.programme_s = programme_s;
  plan.peak_dB = peak_dB;
  plan.turns = turns;
  return plan;
}

std::vector<Pressing> pressings() {
  std::vector<Pressing> all;
  const auto press = [&](const char* name, const char* made, bool good) -> works::PlayedSide& {
    Pressing pressing;
    pressing.disc.name = name;
    pressing.disc.made = made;
    pressing.disc.good = good;
    pressing.tune = reel;
    pressing.played = good_disc(100 + all.size());
    all.push_back(std::move(pressing));
    return all.back().played;
  };
  press("disc-1-flawless", "nothing but the surface every disc has", true);
  press("disc-2-scratched", "two ticks, a pop, and a radial scratch over nine turns", false)
      .faults = {fault(PlannedKind::tick, 7.3, -10.0),
                 fault(PlannedKind::tick, 16.9, -12.0),
                 fault(PlannedKind::scratch, 22.0, -12.0, 9),
                 fault(PlannedKind::pop, 40.2, -8.0)};
  press("disc-3-off-centre", "pressed with its hole 0.45 mm off centre", false).eccentricity_m =
      0.45e-3;
  press("disc-4-skip", "a damaged groove: the stylus skips two turns", false).faults = {
      fault(PlannedKind::jump, 19.4, -16.0, 2)};
  press("disc-5-wrong-title", "another title's stamper was on the press", false);
  all.back().tune = slow_air;
  return all;
}

Outcome write_cut(const std::string& path, const DemoTune& tune) {
  const auto writer = intake::AudioWriter::create(path, {rate_Hz, 2, intake::Coding::pcm_24});
  if (!writer) return writer.error();
  if (const Outcome written = (*writer)->write(demo_tune(tune, rate_Hz)); !written) return written;
  return (*writer)->finish();
}

Outcome make_folders(const fs::path& folder) {
  for (const char* part : {"cuts", "captures", "truth", "reports", "portraits", "pages"}) {
    std::error_code failed;
    fs::create_directories(folder / part, failed);
    if (failed)
      return Error{Fault::io,
                   fmt::format("{}: the folder cannot be made ({}); name another one with --out",
                               (folder / part).string(),
                               failed.message())};
  }
  return Done{};
}

Outcome keep(const HeardDemoDisc& heard,
             const listen::Options& options,
             std::vector<draw::FaultSound> sounds) {
  draw::PortraitOptions portrait_options;
  portrait_options.title = "Tarnholt " + heard.disc.name;
  const auto picture = draw::portrait(heard.report, portrait_options);
  if (!picture) return picture.error();
  draw::PageOptions page_options;
  page_options.title = portrait_options.title;
  page_options.limits = options.limits;
  page_options.sounds = std::move(sounds);
  const auto page = draw::report_page(heard.report, page_options);
  if (!page) return page.error();
  for (const auto& [path, bytes] : {std::pair{&heard.disc.report, json::write(heard.report)},
                                    {&heard.disc.portrait, *picture},
                                    {&heard.disc.page, *page}})
    if (const Outcome written = intake::write_whole(*path, bytes); !written) return written;
  return Done{};
}

}  // namespace

int HeardDemoDisc::found() const {
  const auto is_found = [&](const works::TrueFault& put_in) {
    const double within_s = put_in.programme_jump_s ? 0.030 : 0.005;
    return std::any_of(
        report.faults.begin(), report.faults.end(), [&](const works::FaultEvent& heard) {
          return std::abs(heard.capture_s - put_in.capture_s) <= within_s;
        });
  };
  return static_cast<int>(std::count_if(truth.faults.begin(), truth.faults.end(), is_found));
}

Result<DemoWorks> make_demo_works(const std::string& folder,
                                  int jobs,
                                  const Engine& engine,
                                  const DemoProgress& progress) {
  const fs::path root{folder};
  if (const Outcome made = make_folders(root); !made) return made.error();
  const auto go_on = [&](const std::string& doing, double share) {
    return !progress || progress(doing, share);
  };
  const Error stopped{Fault::conflict, "stopped; what is written is whole"};

  DemoWorks works;
  works.side = demo_side();
  works.bench = demo_bench();
  works.cut = (root / "cuts" / "tarnholt-reel.wav").string();
  const std::string other_cut = (root / "cuts" / "tarnholt-slow-air.wav").string();
  if (!go_on("cutting", 0.0)) return stopped;
  if (const Outcome cut = write_cut(works.cut, reel); !cut) return cut.error();
  if (const Outcome cut = write_cut(other_cut, slow_air); !cut) return cut.error();

  std::vector<Pressing> all = pressings();
  std::vector<std::future<Result<works::Truth>>> plays;
  for (Pressing& pressing : all) {
    DemoDisc& disc = pressing.disc;
    const auto path = [&](const char* part, const char* ending) {
      return (root / part / (disc.name + ending)).string();
    };
    disc.cut = pressing.tune.seed == reel.seed ? works.cut : other_cut;
    disc.capture = path("captures", ".wav");
    disc.truth = path("truth", ".json");
    disc.report = path("reports", ".json");
    disc.portrait = path("portraits", ".png");
    disc.page = path("pages", ".html");
    plays.push_back(std::async(std::launch::async, [&pressing] {
      return play_side({.programme = pressing.disc.cut,
                        .played = pressing.played,
                        .capture = pressing.disc.capture,
                        .truth = pressing.disc.truth},
                       {});
    }));
  }

  constexpr double pressing_share = 0.3;  // of the whole work, for the progress told
  const listen::Options options{.side = works.side,
                                .bench = works.bench,
                                .limits = intake::built_in_limits(works.side.format),
                                .jobs = jobs};
  for (std::size_t k = 0; k < all.size(); ++k) {
    const auto count = static_cast<double>(all.size());
    if (!go_on("pressing " + all[k].disc.name, pressing_share * static_cast<double>(k) / count))
      return stopped;
    auto truth = plays[k].get();
    if (!truth) return truth.error();
    works.discs.push_back({all[k].disc, std::move(*truth), {}});
  }
  for (std::size_t k = 0; k < works.discs.size(); ++k) {
    HeardDemoDisc& heard = works.discs[k];
    const auto told = [&](double share) {
      const double done = (static_cast<double>(k) + share) / static_cast<double>(all.size());
      return go_on("hearing " + heard.disc.name, pressing_share + (1.0 - pressing_share) * done);
    };
    Hearing hearing{.capture = heard.disc.capture,
                    .reference = works.cut,
                    .kind = works::ReferenceKind::file,
                    .options = options};
    std::optional<listen::Kept> kept;
    hearing.options.keep = [&](listen::Kept&& heard_of) { kept = std::move(heard_of); };
    auto report = hear_capture(hearing, engine, told);
    if (!report) return report.error();
    heard.report = std::move(*report);
    auto sounds = worst_sounds(hearing, heard.report, kept);
    if (!sounds) return sounds.error();
    if (const Outcome saved = keep(heard, options, std::move(*sounds)); !saved)
      return saved.error();
  }
  return works;
}

}  // namespace goodside::line
