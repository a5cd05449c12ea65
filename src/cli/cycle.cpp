#include <fmt/format.h>

#include <cmath>
#include <ostream>

#include "cli/commands.hpp"
#include "cli/cycle_summary.hpp"
#include "cli/paint_cycle.hpp"
#include "cli/works_open.hpp"
#include "intake/safe_file.hpp"
#include "line/log_cycle.hpp"
#include "press/input.hpp"
#include "press/study.hpp"
#include "units/number.hpp"

namespace goodside::cli {
namespace {

struct WindowAsked {
  press::Axis x, y;
};

Result<double> count(std::string_view text, double low, double high, const char* example) {
  const auto number = units::leading_number(units::trimmed(text));
  if (number && number->rest.empty() && number->value >= low && number->value <= high &&
      number->value == std::floor(number->value))
    return number->value;
  return Error{Fault::bad_input,
               fmt::format("\"{}\" is no whole number from {:.0f} to {:.0f}; for instance {}",
                           text.substr(0, 40),
                           low,
                           high,
                           example)};
}
Result<double> samples(std::string_view text) {
  return count(text, 10.0, 1e6, "10000");
}
Result<double> points(std::string_view text) {
  return count(text, 2.0, 200.0, "13");
}
Result<double> jobs(std::string_view text) {
  return count(text, 1.0, 256.0, "2");
}
Result<double> seed(std::string_view text) {
  return count(text, 0.0, 9007199254740991.0, "1");
}

/// `steam=6bar..12bar,water_time=5s..20s`; without a range from 0.6 to 1.5 of what is set.
Result<press::Axis> axis(const press::CycleSetup& setup, std::string_view text) {
  const auto equals = text.find('=');
  const auto input = press::find_input(units::trimmed(text.substr(0, equals)));
  if (!input) return Error{Fault::bad_input, input.error().text};
  const double here = (*input)->get(setup, 0);
  press::Axis one{.input = *input, .low = 0.6 * here, .high = 1.5 * here};
  if ((*input)->offset != 0.0) {  // degrees Celsius have no share
    one.low = here - 15.0;
    one.high = here + 15.0;
  }
  if (equals == std::string_view::npos) return one;
  const auto range = text.substr(equals + 1);
  const auto dots = range.find("..");
  const auto low = (*input)->read(range.substr(0, dots));
  if (dots == std::string_view::npos || !low)
    return Error{Fault::bad_input,
                 fmt::format("\"{}\" is no range; write it as in steam=6bar..12bar{}",
                             range.substr(0, 40),
                             low ? "" : "; " + low.error().text)};
  const auto high = (*input)->read(range.substr(dots + 2));
  if (!high) return high.error();
  one.low = *low;
  one.high = *high;
  return one;
}

Result<WindowAsked> window(const press::CycleSetup& setup, const std::string& text) {
  const auto comma = text.find(',');
  if (comma == std::string::npos)
    return Error{Fault::bad_input,
                 fmt::format("--window: \"{}\" names one input; give two, as in steam,water_time",
                             text.substr(0, 40))};
  const auto x = axis(setup, std::string_view{text}.substr(0, comma));
  if (!x) return Error{x.error().fault, "--window: " + x.error().text};
  const auto y = axis(setup, std::string_view{text}.substr(comma + 1));
  if (!y) return Error{y.error().fault, "--window: " + y.error().text};
  return WindowAsked{*x, *y};
}

struct Asked {
  bool best{}, no_reserve{};
  std::optional<std::string> window;
  std::optional<double> samples;
  int points{13};
  std::uint64_t seed{};
  int jobs{};
};

Result<Asked> asked_of(const Args& args) {
  Asked asked{.best = args.given("--best"),
              .no_reserve = args.given("--no-reserve"),
              .window = {},
              .samples = {}};
  if (args.given("--window")) asked.window = args.text("--window");
  const auto draws = args.maybe("--monte-carlo", samples);
  if (!draws) return draws.error();
  asked.samples = *draws;
  const auto lattice = args.maybe("--points", points);
  if (!lattice) return lattice.error();
  asked.points = static_cast<int>(lattice->value_or(13.0));
  const auto from = args.maybe("--seed", seed);
  if (!from) return from.error();
  asked.seed = static_cast<std::uint64_t>(from->value_or(1.0));
  const auto threads = args.maybe("--jobs", jobs);
  if (!threads) return threads.error();
  asked.jobs = static_cast<int>(threads->value_or(0.0));
  return asked;
}

Result<line::CycleAnswer> answer_of(const Args& args, const Asked& asked) {
  auto setup = line::press_setup({.compound = args.text("--compound"),
                                  .file = args.text("--press"),
                                  .figures = args.all("--set")});
  if (!setup) return setup.error();
  line::CycleAnswer answer;
  auto fits = line::fit_press(
      *setup, {.thermocouples = args.text("--fit"), .ladder = args.text("--ladder")});
  if (!fits) return fits.error();
  answer.fits = std::move(*fits);
  answer.setup = answer.fits.empty() ? *setup : answer.fits.back().setup;
  if (asked.best) {
    auto best = press::best_cycle(answer.setup, asked.jobs, !asked.no_reserve);
    if (!best) return best.error();
    answer.setup = best->setup;
    answer.best = std::move(*best);
  }
  auto periodic = press::periodic_state(answer.setup);
  if (!periodic) return periodic.error();
  answer.periodic = std::move(*periodic);
  answer.cycle = press::run_cycle(
      answer.setup, answer.periodic.state, {.numerics = {}, .keep_moments = true, .steel = {}});
  auto doubts = press::sensitivities(answer.setup, answer.periodic, {.jobs = asked.jobs});
  if (!doubts) return doubts.error();
  answer.doubts = std::move(*doubts);
  if (asked.window) {
    auto axes = window(answer.setup, *asked.window);
    if (!axes) return axes.error();
    axes->x.points = axes->y.points = asked.points;
    auto map = press::window_map(answer.setup, axes->x, axes->y, asked.jobs);
    if (!map) return map.error();
    answer.window = std::move(*map);
  }
  if (asked.samples)
    answer.trials = press::trials(answer.setup,
                                  answer.periodic,
                                  static_cast<std::uint64_t>(*asked.samples),
                                  asked.seed,
                                  {.jobs = asked.jobs});
  return answer;
}

int run(const Args& args, Console& console) {
  if (args.given("--list")) {
    const auto setup = line::press_setup({.compound = args.text("--compound"),
                                          .file = args.text("--press"),
                                          .figures = args.all("--set")});
    if (!setup) return console.refuse(setup.error());
    console.out() << input_list(*setup);
    return 0;
  }
  const auto plot = args.read("--plot", cycle_plot);
  if (!plot) return console.refuse(plot.error());
  const auto asked = asked_of(args);
  if (!asked) return console.refuse(asked.error());
  const auto answer = answer_of(args, *asked);
  if (!answer) return console.refuse(answer.error());
  if (const std::string& picture = args.text("--picture"); !picture.empty())
    if (const auto drawn = paint_cycle(*answer, *plot, picture); !drawn)
      return console.refuse(drawn.error());
  if (const std::string& picture = args.text("--window-picture"); !picture.empty())
    if (const auto drawn = paint_cycle(*answer, CyclePlot::window, picture); !drawn)
      return console.refuse(drawn.error());
  if (const std::string& save = args.text("--save"); !save.empty())
    if (const auto saved = intake::write_whole(save, line::press_toml(answer->setup)); !saved)
      return console.refuse(saved.error());
  std::string logged;
  if (args.given("--recipe")) {
    const int status = in_works(args, console, [&](OpenWorks& works) {
      const auto entered =
          line::log_cycle(works.desk, answer->setup, answer->cycle, args.text("--recipe"));
      if (!entered) return console.refuse(entered.error());
      logged = fmt::format("recipe {} is in the record; {}", entered->code, noted(entered->head));
      return 0;
    });
    if (status != 0) return status;
  }
  const std::string& json = args.text("--json");
  if (!json.empty() && json != "-")
    if (const auto saved = intake::write_whole(json, json::lay_out(line::cycle_node(*answer)));
        !saved)
      return console.refuse(saved.error());
  console.out() << (json == "-" ? json::lay_out(line::cycle_node(*answer))
                                : cycle_summary(*answer, console.colour()) + logged);
  const bool works =
      press::standing_of(press::margins_of(answer->setup, answer->cycle)) == press::Standing::works;
  return static_cast<int>(works ? Exit::within_limits : Exit::outside_limits);
}

}  // namespace

Command cycle_command() {
  return {
      .name = "cycle",
      .help = "Heat and flow of one press cycle: what it fills and sets, and the shortest.",
      .example = R"(goodside cycle --set water_time=12s

● The cycle works  24.3 s, 148 discs an hour
  uncalibrated: for comparing one setting with another only, until it is fitted
  to this press (--fit, --ladder)

  steam on     2.0 s   5.0 s before the press meets the biscuit
  closes       7.0 s
  steam off   12.0 s
  water on    12.3 s
  water off   24.3 s
  opens       24.3 s   counted from the press being open
  ...)",
      .options =
          {{.name = "--compound",
            .value = "NAME",
            .help = "vinyl or shellac, with a usual press for each. Without it the file's, or "
                    "vinyl."},
           {.name = "--press",
            .value = "FILE",
            .help = "A press and its cycle in TOML, as --save writes it."},
           {.name = "--set",
            .value = "NAME=VALUE",
            .help = "One figure, such as steam=9bar, water_time=12s, mass=192g; a. or b. "
                    "before it for one side. May be given again.",
            .many = true},
           {.name = "--list", .help = "Name every figure with its value, range and source."},
           {.name = "--best", .help = "Find the shortest cycle that keeps every limit."},
           {.name = "--no-reserve", .help = "With --best: leave no room for the tolerances."},
           {.name = "--window",
            .value = "X,Y",
            .help = "Map what works over two figures, as in steam=6bar..12bar,water_time."},
           {.name = "--points", .value = "N", .help = "Of that map, each way.", .fallback = "13"},
           {.name = "--monte-carlo",
            .value = "N",
            .help = "Draw N cycles over the tolerances and what is not known."},
           {.name = "--seed", .value = "N", .help = "Of those draws.", .fallback = "1"},
           {.name = "--fit",
            .value = "LOG.csv",
            .help = "Fit heat to thermocouples over one cycle: time_s, a_face, a_3mm, middle …"},
           {.name = "--ladder",
            .value = "LADDER.csv",
            .help = "Fit flow to short charges: mass_g, diameter_mm, thickness_mm."},
           {.name = "--save",
            .value = "FILE",
            .help = "Write press and cycle, fitted and best as they came out, in TOML."},
           {.name = "--recipe",
            .value = "NAME",
            .help = "Enter the cycle in the record as a recipe; runs and pressings take its code."},
           {.name = "--in",
            .value = "DIR",
            .help = "The works folder of that record; without it as for `goodside works`."},
           {.name = "--by", .value = "NAME", .help = "Who enters it; without it your user name."},
           {.name = "--json",
            .value = "FILE|-",
            .help = "Write everything computed; - is standard output."},
           {.name = "--picture", .value = "FILE", .help = "Draw into a .png, .svg or .pdf."},
           {.name = "--plot",
            .value = "NAME",
            .help = "Which picture: temperatures, profile, radius, window.",
            .fallback = "temperatures"},
           {.name = "--window-picture", .value = "FILE", .help = "Draw the window besides."},
           {.name = "--jobs",
            .value = "N",
            .help = "Threads; without it one a core. The answer is the same."}},
      .run = run};
}

}  // namespace goodside::cli
