#include <fmt/format.h>

#include <ostream>

#include "cli/commands.hpp"
#include "cli/play_request.hpp"
#include "cli/progress_bar.hpp"
#include "cli/stop.hpp"
#include "draw/words.hpp"
#include "line/play_side.hpp"

namespace goodside::cli {
namespace {

void tell(const line::Playing& playing, const works::Truth& truth, std::ostream& out) {
  out << fmt::format("{}: {}, programme from {} to {}\n",
                     playing.capture,
                     draw::clock_ms(static_cast<double>(truth.frames) / truth.sample_rate_Hz),
                     draw::clock_ms(truth.programme_start_s),
                     draw::clock_ms(truth.programme_end_s));
  out << fmt::format("  groove {:.2f} to {:.2f} mm, hole {:.3f} mm off centre, {:+.0f} ppm\n",
                     truth.geometry.outer_radius_m * 1e3,
                     truth.geometry.inner_radius_m * 1e3,
                     truth.eccentricity_m * 1e3,
                     truth.speed_error_ppm);
  constexpr std::size_t most_lines = 20;
  for (std::size_t k = 0; k < truth.faults.size() && k < most_lines; ++k) {
    const works::TrueFault& fault = truth.faults[k];
    out << fmt::format("  {:<8} {:>10}  {:7.2f} mm  {:5.1f}°\n",
                       draw::word(fault.kind),
                       draw::clock_ms(fault.capture_s),
                       fault.radius_m * 1e3,
                       fault.angle_deg);
  }
  if (truth.faults.size() > most_lines)
    out << fmt::format("  and {} more; --truth FILE holds all\n", truth.faults.size() - most_lines);
}

int run_play(const Args& args, Console& console) {
  const auto playing = read_play_request(args);
  if (!playing) return console.refuse(playing.error());
  const StopWatch stop_watch;
  const auto truth = [&] {
    ProgressBar bar{console.err(), console.progress(), draw::file_name(playing->capture)};
    return line::play_side(*playing, [&](double share) {
      bar.show(share);
      return !StopWatch::asked();
    });
  }();
  if (!truth) return console.refuse(truth.error());
  tell(*playing, *truth, console.out());
  return static_cast<int>(Exit::within_limits);
}

}  // namespace

Command play_command() {
  return {.name = "play",
          .help = "Plays a pressed side that nobody pressed: a capture whose faults are known.",
          .example = R"(goodside play cut.wav --out capture.wav --truth truth.json \
    --format 7in-45 --pitch 0.2mm --offset 0.2mm --fault tick@7.3s,peak=-12 \
    --fault scratch@80mm/88,turns=8

capture.wav: 0:54.800, programme from 0:03.400 to 0:51.400
  groove 84.15 to 76.95 mm, hole 0.200 mm off centre, +0 ppm
  tick       0:10.700    83.06 mm  171.0°
  tick       0:31.726    79.90 mm   88.1°
  ...)",
          .options = play_options(),
          .run = run_play};
}

}  // namespace goodside::cli
