#include <fmt/format.h>

#include <ostream>

#include "cli/commands.hpp"
#include "cli/drawn_files.hpp"
#include "cli/mix_summary.hpp"
#include "cli/other_file.hpp"
#include "cli/works_open.hpp"
#include "draw/mix_plot.hpp"
#include "draw/work_papers.hpp"
#include "intake/safe_file.hpp"
#include "json/mix_report.hpp"
#include "line/log_batch.hpp"
#include "line/mix_batch.hpp"
#include "units/number.hpp"
#include "units/read.hpp"

namespace goodside::cli {
namespace {

/// "NAME=TEXT", through `read`. An ingredient's name may hold an equals sign no more than a unit may.
template <class Read>
Result<std::vector<line::ToldFigure>> told(const Args& args, std::string_view option, Read read) {
  std::vector<line::ToldFigure> all;
  for (const auto& word : args.all(option)) {
    const auto sign = word.find('=');
    if (sign == std::string::npos || sign == 0)
      return Error{Fault::bad_input,
                   fmt::format("{}: \"{}\" names no ingredient; write NAME=FIGURE", option, word)};
    const auto value = read(std::string_view{word}.substr(sign + 1));
    if (!value)
      return Error{value.error().fault, fmt::format("{}: {}", option, value.error().text)};
    all.push_back({word.substr(0, sign), *value});
  }
  return all;
}

Result<double> money(std::string_view text) {
  const auto number = units::leading_number(units::trimmed(text));
  if (!number || !number->rest.empty() || !(number->value >= 0.0 && number->value <= 1e9))
    return Error{Fault::bad_input,
                 fmt::format("\"{}\" is no price; give a plain number, as 9.5", text)};
  return number->value;
}

template <class Read>
Outcome take(const Args& args, std::string_view option, Read read, std::optional<double>& field) {
  const auto value = args.maybe(option, read);
  if (!value) return value.error();
  field = *value;
  return Done{};
}

Result<line::MixRequest> request_of(const Args& args) {
  line::MixRequest request;
  request.recipe = args.text("recipe");
  request.weighed = args.text("--weighed");
  request.cheapest = args.given("--cheapest");
  for (const auto& outcome :
       {take(args, "--mass", units::mass_kg, request.batch_kg),
        take(args, "--total", units::mass_kg, request.total_kg),
        take(args, "--for", units::mass_kg, request.ahead_kg),
        take(args, "--regrind", units::fraction, request.regrind),
        take(args, "--purge", units::fraction, request.purge_left),
        take(args, "--scale", units::mass_kg, request.division_kg),
        take(args, "--bowl", units::volume_m3, request.bowl_m3),
        take(args, "--fill", units::fraction, request.fill),
        take(args, "--power", units::power_W, request.power_W),
        take(args, "--start", units::temperature_K, request.start_temperature_K),
        take(args, "--dump", units::temperature_K, request.dump_temperature_K)})
    if (!outcome) return outcome.error();
  if (args.given("--mass") && args.given("--total"))
    return Error{Fault::bad_input, "--mass is one charge and --total is several; give one of them"};
  const auto aim = args.read("--aim", units::fraction);
  if (!aim) return aim.error();
  request.aim = *aim;
  auto stocks = told(args, "--stock", units::mass_kg);
  if (!stocks) return stocks.error();
  request.stocks_kg = std::move(*stocks);
  auto prices = told(args, "--price", money);
  if (!prices) return prices.error();
  request.prices_per_kg = std::move(*prices);
  const auto said = told(args, "--said", units::mass_kg);
  if (!said) return said.error();
  for (const auto& [name, value] : *said) request.said.push_back({name, value});
  return request;
}

/// The picture and the paper, drawn before anything is written.
Result<std::vector<intake::FileBytes>> drawn(const Args& args, const works::MixReport& report) {
  std::vector<intake::FileBytes> files;
  if (const auto added = add_picture(files, args.text("--picture"), report, draw::mix_plot); !added)
    return added.error();
  if (const std::string& path = args.text("--sheet"); !path.empty()) {
    const auto format = picture_format(path);
    if (!format) return format.error();
    draw::WeighUp weigh_up = draw::weigh_up_of(report);
    weigh_up.batch = args.text("--batch");
    auto sheet =
        draw::draw_paper(draw::weigh_up_sheet(weigh_up, {}), *format, draw::Paper{210.0, 297.0});
    if (!sheet) return sheet.error();
    if (sheet->files.size() > 1)
      return Error{
          Fault::bad_input,
          fmt::format("--sheet: {} sheets, and {} holds one; use .pdf", sheet->files.size(), path)};
    files.push_back({path, std::move(sheet->files.front())});
  }
  const std::string& json = args.text("--json");
  if (!json.empty() && json != "-") files.push_back({json, json::write(report)});
  return files;
}

/// Reckons, writes what is to be written, enters it in the record where `enter` does so, and speaks.
template <class Enter>
int tell(const Args& args, Console& console, const line::MixRequest& request, Enter enter) {
  const auto report = line::mix_batch(request);
  if (!report) return console.refuse(report.error());
  const auto files = drawn(args, *report);
  if (!files) return console.refuse(files.error());
  const auto entered = enter(*report);
  if (!entered) return console.refuse(entered.error());
  if (const auto saved = intake::write_together(*files); !saved)
    return console.refuse(saved.error());
  console.out() << (args.text("--json") == "-" ? json::write(*report)
                                               : mix_summary(*report, console.colour()) + *entered);
  return static_cast<int>(report->is_within ? Exit::within_limits : Exit::outside_limits);
}

int with_record(const Args& args, Console& console, line::MixRequest request, OpenWorks& works) {
  const auto code = args.maybe("--batch", code_text);
  if (!code) return console.refuse(code.error());
  const std::string batch = code->value_or("");
  if (!batch.empty()) {
    auto recorded = line::recorded_batch(works.desk.record, batch);
    if (!recorded) return console.refuse(recorded.error());
    request.recorded = std::move(recorded->weighed);
    request.asked = std::move(recorded->asked);
  }
  return tell(args, console, request, [&](const works::MixReport& report) -> Result<std::string> {
    if (!args.given("--log")) return std::string{};
    auto weighed = line::newly_weighed(request);
    if (!weighed) return weighed.error();
    const auto entered =
        line::log_batch(works.desk, report, {.batch = batch, .weighed = std::move(*weighed)});
    if (!entered) return entered.error();
    return fmt::format("batch {} {}; {}",
                       entered->code,
                       batch.empty() ? "is in the record" : "has the additions",
                       noted(entered->head));
  });
}

int run_mix(const Args& args, Console& console) {
  const auto request = request_of(args);
  if (!request) return console.refuse(request.error());
  for (const auto* option : {"--picture", "--sheet", "--json"})
    for (const auto* input : {"recipe", "--weighed"})
      if (const auto other = is_other_file(option, args.text(option), args.text(input)); !other)
        return console.refuse(other.error());
  if (!args.given("--batch") && !args.given("--log"))
    return tell(args, console, *request, [](const auto&) { return Result<std::string>{""}; });
  return in_works(
      args, console, [&](OpenWorks& works) { return with_record(args, console, *request, works); });
}

}  // namespace

Command mix_command() {
  return {
      .name = "mix",
      .help = "Compound: what to weigh in, and how to put a wrong batch right.",
      .example =
          R"(goodside mix demo/compound/shellac.toml --mass "60 kg"
    --weighed demo/compound/weighed.csv

▲ 1 out of tolerance: add 1.31403 kg  Tarnholt black
  ...
     what the scale said     asked kg   said kg     off g  tolerances
  ▲  shellac                    8.100     8.350      +250        6.17
  ...
  The least addition that puts it right: 61.5442 kg in all, 29.99 l, the worst
  ingredient 1.00 tolerances off
                               add kg   exactly      then  tolerances
     limestone                  0.692    0.6944   37.68 %        0.98
  ...
Next: weigh in the additions, enter what the scale says, and charge the mixer.)",
      .options =
          {{.name = "recipe",
            .value = "RECIPE",
            .help = "Ingredients with role, fraction and density: .toml or .csv.",
            .required = true},
           {.name = "--mass",
            .value = "M",
            .help = "One charge, dry: 60 kg. Without: what the bowl takes."},
           {.name = "--total", .value = "M", .help = "As many equal charges as the bowl asks for."},
           {.name = "--weighed",
            .value = "FILE.csv",
            .help = "What the scale said: columns ingredient and mass."},
           {.name = "--said",
            .value = "NAME=M",
            .help = "The same of one ingredient: chalk=22.61kg.",
            .many = true},
           {.name = "--aim",
            .value = "S",
            .help = "A correction ends within this share of each tolerance.",
            .fallback = "1"},
           {.name = "--cheapest",
            .help = "The cheapest recipe within the bounds for roles and properties."},
           {.name = "--for",
            .value = "M",
            .help = "Compound that the stock must reach for, with --cheapest."},
           {.name = "--stock",
            .value = "NAME=M",
            .help = "What is left of an ingredient: shellac=20kg.",
            .many = true},
           {.name = "--price",
            .value = "NAME=P",
            .help = "Its price a kilogram: shellac=9.5.",
            .many = true},
           {.name = "--regrind",
            .value = "S",
            .help = "Share of each batch that is own regrind: 15 %."},
           {.name = "--purge",
            .value = "S",
            .help = "Change of colour: so much of the old may be left: 0.1 %."},
           {.name = "--scale",
            .value = "M",
            .help = "The scale's division, in place of the recipe's scales: 10 g."},
           {.name = "--bowl", .value = "V", .help = "The mixer's free volume: 75 l."},
           {.name = "--fill",
            .value = "S",
            .help = "Share of the bowl that a charge takes; common practice 0.70."},
           {.name = "--power", .value = "P", .help = "Of the mixer's drive: 55 kW."},
           {.name = "--start", .value = "T", .help = "Temperature of what goes in: 20 °C."},
           {.name = "--dump",
            .value = "T",
            .help = "Temperature at which the batch is dumped: 110 °C."},
           {.name = "--picture",
            .value = "FILE",
            .help = "Draw deviations, or without them the contents: .png, .svg, .pdf."},
           {.name = "--sheet",
            .value = "FILE",
            .help = "The weigh-up sheet as a paper, A4: .pdf, or one sheet as .svg, .png."},
           {.name = "--batch",
            .value = "CODE",
            .help = "Of the record: what was weighed into it is in the bowl already."},
           {.name = "--log",
            .help = "Enter what was weighed: a new batch, or additions to --batch."},
           {.name = "--in",
            .value = "DIR",
            .help = "The works folder; without it the nearest above."},
           {.name = "--by", .value = "NAME", .help = "Who enters this; without it your user name."},
           {.name = "--json",
            .value = "FILE|-",
            .help = "Write the whole result; - is standard output."}},
      .run = run_mix};
}

}  // namespace goodside::cli
