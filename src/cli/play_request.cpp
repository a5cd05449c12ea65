#include "cli/play_request.hpp"

#include <fmt/format.h>

#include <cmath>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>

#include "cli/fault_text.hpp"
#include "disc/format.hpp"
#include "disc/surface_noise.hpp"
#include "units/number.hpp"
#include "units/read.hpp"

namespace goodside::cli {
namespace {

constexpr double coarse_stylus_m = 65e-6;

Result<double> plain_number(std::string_view text) {
  const auto number = units::leading_number(units::trimmed(text));
  if (number && number->rest.empty() && std::isfinite(number->value)) return number->value;
  return Error{Fault::bad_input, fmt::format("\"{}\" is no number; for instance 12.5", text)};
}

Result<std::uint64_t> seed(std::string_view text) {
  const auto number = plain_number(text);
  if (number && *number >= 0.0 && *number <= 0x1p53 && *number == std::floor(*number))
    return static_cast<std::uint64_t>(*number);
  return Error{Fault::bad_input,
               fmt::format("\"{}\" is no whole number from 0; for instance 1", text)};
}

/// "0.55Hz=0.05%": one steady line of speed deviation.
Result<works::SpeedLine> speed_line(std::string_view text) {
  const auto equals = text.find('=');
  if (equals == std::string_view::npos)
    return Error{Fault::bad_input,
                 fmt::format("\"{}\": write frequency=peak, for instance 10Hz=0.05%", text)};
  const auto frequency_Hz = units::frequency_Hz(text.substr(0, equals));
  if (!frequency_Hz) return frequency_Hz.error();
  const auto peak = units::deviation(text.substr(equals + 1));
  if (!peak) return peak.error();
  return works::SpeedLine{.frequency_Hz = *frequency_Hz, .peak = *peak, .phase_deg = 0.0};
}

/// Reads an option into `into` when it was typed; the first error stays.
class Reader {
 public:
  explicit Reader(const Args& args) : args_{args} {}

  template <class Parser, class Into>
  void take(const char* name, Parser parse, Into& into) {
    if (failed_ || !args_.given(name)) return;
    auto value = args_.read(name, parse);
    if (value)
      into = *value;
    else
      failed_ = value.error();
  }

  template <class Parser, class Item>
  void take_all(const char* name, Parser parse, std::vector<Item>& into) {
    for (const std::string& text : args_.all(name)) {
      if (failed_) return;
      auto value = parse(text);
      if (value)
        into.push_back(*value);
      else
        failed_ = Error{value.error().fault, fmt::format("{}: {}", name, value.error().text)};
    }
  }

  [[nodiscard]] const std::optional<Error>& failed() const { return failed_; }

 private:
  const Args& args_;
  std::optional<Error> failed_;
};

Result<works::PlayedSide> usual_side(const Args& args) {
  works::PlayedSide played;
  if (args.given("--format")) {
    auto side = args.read("--format", [](std::string_view name) { return disc::cut_side(name); });
    if (!side) return side.error();
    played.side = std::move(*side);
  }
  played.surface = played.side.shellac_type ? disc::shellac_surface() : disc::vinyl_surface();
  if (played.side.shellac_type) played.cartridge.stylus_radius_m = coarse_stylus_m;
  return played;
}

}  // namespace

std::vector<Option> play_options() {
  return {
      {.name = "programme", .value = "CUT", .help = "The audio that was cut.", .required = true},
      {.name = "--out",
       .value = "FILE",
       .help = "The capture to write: .wav, .rf64, .w64, .flac.",
       .required = true},
      {.name = "--truth", .value = "FILE", .help = "Write what the capture holds, as JSON."},
      {.name = "--format", .value = "NAME", .help = "Size and speed: 7in-45, 10in-78, 12in-33."},
      {.name = "--rpm", .value = "N", .help = "Turns a minute of the cut."},
      {.name = "--outer-radius", .value = "Q", .help = "Groove radius where it begins: 146mm."},
      {.name = "--inner-radius", .value = "Q", .help = "Groove radius where it ends: 60 mm."},
      {.name = "--pitch", .value = "Q", .help = "Groove pitch: 0.1mm, 240 lpi."},
      {.name = "--arm-length", .value = "Q", .help = "Pivot to stylus; without it a radial arm."},
      {.name = "--arm-mount", .value = "Q", .help = "Pivot to spindle."},
      {.name = "--offset", .value = "Q", .help = "From the hole to the groove's centre: 0.2mm."},
      {.name = "--offset-direction", .value = "DEG", .help = "Groove angle it points to."},
      {.name = "--speed-error", .value = "X", .help = "Of the platter: 0.1% or 1000ppm fast."},
      {.name = "--wander", .value = "X", .help = "Slow random speed wander, rms: 0.02%."},
      {.name = "--flutter", .value = "F=X", .help = "A steady line: 10Hz=0.05%.", .many = true},
      {.name = "--clock-ppm", .value = "X", .help = "Error of the sound card's clock; + is fast."},
      {.name = "--noise", .value = "DB", .help = "Surface noise re full scale of the cut: -66."},
      {.name = "--crackle", .value = "N", .help = "Small impulses a second."},
      {.name = "--rumble", .value = "DB", .help = "Rumble below 60 Hz: -60."},
      {.name = "--hum", .value = "DB", .help = "Mains hum: -78."},
      {.name = "--hum-frequency", .value = "Q", .help = "Of the mains: 50Hz or 60Hz."},
      {.name = "--crosstalk", .value = "DB", .help = "Of the cartridge at 1 kHz: -27."},
      {.name = "--balance", .value = "DB", .help = "Right minus left."},
      {.name = "--stylus", .value = "Q", .help = "Radius of its tip: 15um; 0mm traces ideally."},
      {.name = "--echo-ahead", .value = "DB", .help = "Of the groove one turn ahead: -50."},
      {.name = "--echo-behind", .value = "DB", .help = "Of the groove one turn behind."},
      {.name = "--warp", .value = "Q", .help = "Height of the warped edge: 0.5mm."},
      {.name = "--fault",
       .value = "F",
       .help = "KIND@TIME or KIND@RADIUS/DEGREES, then ,peak= ,duration= ,turns= ,count= ,span= "
               ",channel= where wanted. Kinds: tick, pop, burst, dropout, jump, repeat, locked, "
               "clip, scratch, arc, dirt.",
       .many = true},
      {.name = "--from", .value = "T", .help = "Play an excerpt: from this programme time."},
      {.name = "--to", .value = "T", .help = "Play an excerpt: to this programme time."},
      {.name = "--lead-in", .value = "T", .help = "Groove before the programme: 3s."},
      {.name = "--run-out", .value = "T", .help = "Groove after the programme: 3s."},
      {.name = "--rate", .value = "Q", .help = "Of the capture: 96kHz."},
      {.name = "--level", .value = "DB", .help = "Full scale of the cut in the capture: -6."},
      {.name = "--mono", .help = "One channel."},
      {.name = "--swapped", .help = "Left and right exchanged."},
      {.name = "--inverted", .help = "Polarity turned over."},
      {.name = "--seed", .value = "N", .help = "Of everything random; equal seeds, equal bytes."},
  };
}

Result<line::Playing> read_play_request(const Args& args) {
  auto usual = usual_side(args);
  if (!usual) return usual.error();
  line::Playing playing;
  works::PlayedSide& played = playing.played = std::move(*usual);
  playing.programme = args.text("programme");
  playing.capture = args.text("--out");
  playing.truth = args.text("--truth");

  Reader reader{args};
  reader.take("--rpm", units::rotation_rpm, played.side.rpm);
  reader.take("--outer-radius", units::length_m, played.side.outer_radius_m);
  reader.take("--inner-radius", units::length_m, played.side.inner_radius_m);
  reader.take("--pitch", units::pitch_m, played.side.pitch_m);
  reader.take("--arm-length", units::length_m, played.arm.effective_length_m);
  reader.take("--arm-mount", units::length_m, played.arm.mounting_distance_m);
  reader.take("--offset", units::length_m, played.eccentricity_m);
  reader.take("--offset-direction", plain_number, played.eccentricity_direction_deg);
  reader.take("--speed-error", units::deviation, played.drive.speed_error);
  reader.take("--wander", units::deviation, played.drive.wander_rms);
  reader.take_all("--flutter", speed_line, played.drive.lines);
  reader.take("--clock-ppm", plain_number, played.drive.clock_error_ppm);
  reader.take("--noise", units::level_dB, played.surface.noise_dB);
  reader.take("--crackle", plain_number, played.surface.crackle_per_s);
  reader.take("--rumble", units::level_dB, played.surface.rumble_dB);
  reader.take("--hum", units::level_dB, played.hum_dB);
  reader.take("--hum-frequency", units::frequency_Hz, played.hum_Hz);
  reader.take("--crosstalk", units::level_dB, played.cartridge.crosstalk_dB);
  reader.take("--balance", units::level_dB, played.cartridge.balance_dB);
  reader.take("--stylus", units::length_m, played.cartridge.stylus_radius_m);
  reader.take("--echo-ahead", units::level_dB, played.echo_lead_dB);
  reader.take("--echo-behind", units::level_dB, played.echo_lag_dB);
  reader.take("--warp", units::length_m, played.warp.height_m);
  reader.take_all("--fault", fault_plan, played.faults);
  reader.take("--from", units::duration_s, played.from_s);
  reader.take("--to", units::duration_s, played.to_s);
  reader.take("--lead-in", units::duration_s, played.lead_in_s);
  reader.take("--run-out", units::duration_s, played.run_out_s);
  reader.take("--rate", units::frequency_Hz, played.sample_rate_Hz);
  reader.take("--level", units::level_dB, played.level_dB);
  reader.take("--seed", seed, played.seed);
  if (reader.failed()) return *reader.failed();

  played.channels = args.given("--mono") ? 1 : 2;
  played.swapped = args.given("--swapped");
  played.inverted = args.given("--inverted");
  if (args.given("--arm-length") != args.given("--arm-mount"))
    return Error{Fault::bad_input, "an arm is known by --arm-length and --arm-mount together"};
  if (args.given("--inner-radius") && !(played.side.inner_radius_m > 0.0 &&
                                        played.side.inner_radius_m < played.side.outer_radius_m))
    return Error{Fault::bad_input,
                 fmt::format("--inner-radius: {:.4g} mm is not within the outer radius, {:.4g} mm; "
                             "a cut runs inwards",
                             played.side.inner_radius_m * 1e3,
                             played.side.outer_radius_m * 1e3)};
  if (played.side.outer_radius_m <= 0.0)
    return Error{Fault::bad_input,
                 "the side is missing; give --format (for instance 12in-33), or --rpm, "
                 "--outer-radius and one of --inner-radius and --pitch"};
  return playing;
}

}  // namespace goodside::cli
