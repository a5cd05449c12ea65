#include "cli/plan_words.hpp"

#include <fmt/format.h>

#include <cmath>
#include <map>

#include "cli/listen_outputs.hpp"
#include "cli/works_open.hpp"
#include "intake/safe_file.hpp"
#include "intake/stamper_lives.hpp"
#include "line/life_belief.hpp"
#include "line/stamper_lives.hpp"
#include "units/number.hpp"

namespace goodside::cli {

std::string percent(double share) {
  if (share <= 0.0) return "0 %";
  if (share < 1e-4) return "under 0.01 %";
  if (share > 1.0 - 5e-5 && share < 1.0) return "over 99.99 %";
  const double value = 100.0 * share;
  const int decimals = value >= 99.95 ? 0 : value >= 9.995 ? 1 : value >= 0.995 ? 2 : 3;
  std::string text = fmt::format("{:.{}f}", value, decimals);
  if (text.find('.') != std::string::npos) {
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
  }
  return text + " %";
}

Result<std::int64_t> WholeFrom::operator()(std::string_view text) const {
  const auto number = count_number(units::trimmed(text));
  if (number && *number >= low && *number <= high) return *number;
  return Error{
      Fault::bad_input,
      fmt::format("\"{}\" is no whole number from {} to {}", text.substr(0, 40), low, high)};
}

Result<double> NumberFrom::operator()(std::string_view text) const {
  const auto number = units::leading_number(units::trimmed(text));
  if (number && number->rest.empty() && number->value >= low && number->value <= high)
    return number->value;
  return Error{Fault::bad_input,
               fmt::format("\"{}\" is no number from {:g} to {:g}", text.substr(0, 40), low, high)};
}

std::vector<Option> life_options() {
  return {{.name = "--life-scale",
           .value = "N",
           .help = "Closings by which 63 % of stampers have ended (Weibull's scale)."},
          {.name = "--life-shape",
           .value = "N",
           .help = "Weibull's shape: 1 an even risk, above it a risk that grows with age.",
           .fallback = "1"},
          {.name = "--pull-at",
           .value = "N",
           .help = "Closings at which the works pulls a stamper that is still good."},
          {.name = "--lives",
           .value = "FILE.csv",
           .help = "Learn the law from stampers' lives instead; without any of these from the "
                   "works' record."}};
}

namespace {

Result<GivenLife> learned(std::span<const works::StamperLife> lives, const std::string& whose) {
  auto belief = line::life_belief(lives);
  if (!belief) return belief.error();
  const auto ended = std::count_if(lives.begin(), lives.end(), [](const works::StamperLife& one) {
    return one.ended_by_closings.has_value();
  });
  return GivenLife{std::move(*belief),
                   fmt::format("learned from {} stampers, {} ended{}", lives.size(), ended, whose)};
}

Result<GivenLife> from_record(const Args& args) {
  const auto folder = works_folder(args);
  if (!folder)
    return Error{
        Fault::bad_input,
        "nothing tells how long stampers last; give --life-scale and --life-shape, --lives "
        "FILE.csv, or a works with --in DIR"};
  const auto place = line::read_works_place(*folder);
  if (!place) return place.error();
  auto record = ledger::Record::open(place->store, false);
  if (!record) return record.error();
  std::vector<std::string> remarks;
  const auto traces = line::traces_of_record(*record, *folder, 0, remarks);
  if (!traces) return traces.error();
  const auto known = line::lives_of_record(*record, *folder, *traces);
  if (!known) return known.error();
  return learned(known->lives, " in the record of " + place->name);
}

}  // namespace

Result<GivenLife> given_life(const Args& args) {
  const auto scale = args.maybe("--life-scale", NumberFrom{1.0, 1e9});
  if (!scale) return scale.error();
  const auto shape = args.read("--life-shape", NumberFrom{0.1, 50.0});
  if (!shape) return shape.error();
  const auto pull = args.maybe("--pull-at", NumberFrom{1.0, 1e9});
  if (!pull) return pull.error();
  if (*scale && args.given("--lives"))
    return Error{Fault::bad_input, "--life-scale and --lives both tell the law; give one of them"};
  Result<GivenLife> life = GivenLife{};
  if (*scale) {
    life = GivenLife{{{1.0, {.causes = {{.scale_closings = **scale, .shape = *shape}}}}},
                     fmt::format("scale {:g}, shape {:g}, as given", **scale, *shape)};
  } else if (args.given("--life-shape")) {
    return Error{Fault::bad_input, "--life-shape alone is no law; give --life-scale too"};
  } else if (args.given("--lives")) {
    const auto lives = intake::read_lives(args.text("--lives"));
    if (!lives) return lives.error();
    life = learned(*lives, "");
  } else {
    life = from_record(args);
  }
  if (!life) return life;
  for (auto& one : life->belief) one.law.pull_closings = *pull;
  return life;
}

Outcome save_picture(const Args& args, const draw::CurvePicture& picture) {
  if (!args.given("--picture")) return Done{};
  draw::PlotOptions options;
  const auto format = picture_format(args.text("--picture"));
  if (!format) return format.error();
  options.format = *format;
  const auto drawn = draw::curve_plot(picture, options);
  if (!drawn) return drawn.error();
  return intake::write_whole(args.text("--picture"), *drawn);
}

}  // namespace goodside::cli
