#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <ostream>

#include "cli/commands.hpp"
#include "cli/listen_outputs.hpp"
#include "cli/plan_words.hpp"
#include "cli/works_open.hpp"
#include "cli/wrap.hpp"
#include "draw/control_chart_plot.hpp"
#include "intake/chart_table.hpp"
#include "intake/safe_file.hpp"
#include "line/chart_series.hpp"
#include "plan/control_chart.hpp"
#include "plan/run_rules.hpp"
#include "units/read.hpp"

namespace goodside::cli {
namespace {

using works::ChartKind;
using works::ControlChart;

constexpr std::size_t most_signals = 10;
constexpr double largest = 1e100;

Result<ChartKind> chart_kind(std::string_view text) {
  std::string known;
  for (int i = 0; i <= static_cast<int>(ChartKind::ewma); ++i) {
    const auto kind = static_cast<ChartKind>(i);
    if (text == word(kind)) return kind;
    known += (known.empty() ? "" : ", ") + std::string{word(kind)};
  }
  return Error{Fault::bad_input,
               fmt::format("\"{}\" is no chart; there are {}", text.substr(0, 40), known)};
}

bool of_counts(ChartKind kind) {
  return kind == ChartKind::share || kind == ChartKind::number || kind == ChartKind::rate ||
         kind == ChartKind::count;
}

/// The points to chart, whichever way they came.
struct Points {
  std::string what{}, unit{}, whose{};
  bool counts{};
  std::vector<intake::ChartRow> rows{};
  std::string remark{};
};

Result<Points> from_table(const Args& args) {
  Points points{.unit = args.text("--unit"),
                .whose = std::filesystem::path{args.text("table")}.filename().string(),
                .counts = args.given("--count")};
  intake::ChartColumns columns{.values = args.all("--value"),
                               .group = args.text("--group"),
                               .label = args.text("--label"),
                               .count = args.text("--count"),
                               .size = args.text("--size")};
  if (columns.values.empty() && columns.count.empty())
    return Error{Fault::bad_input,
                 "name the column to chart with --value, or with --count and --size"};
  if (!columns.values.empty() && !columns.count.empty())
    return Error{Fault::bad_input, "--value and --count are two kinds of chart; give one of them"};
  if (!columns.group.empty() && !columns.count.empty())
    return Error{Fault::bad_input, "--group gathers values; counts have a --size instead"};
  points.what = columns.count.empty() ? columns.values.front() : columns.count;
  auto rows = intake::read_chart_table(args.text("table"), columns);
  if (!rows) return rows.error();
  points.rows = std::move(*rows);
  return points;
}

Result<Points> from_record(const Args& args) {
  const auto folder = works_folder(args);
  if (!folder) return folder.error();
  const auto place = line::read_works_place(*folder);
  if (!place) return place.error();
  auto record = ledger::Record::open(place->store, false);
  if (!record) return record.error();
  const auto series = line::chart_series(
      *record, {.of = args.text("--of"), .run = args.text("--run"), .letter = args.text("--side")});
  if (!series) return series.error();
  Points points{.what = series->what,
                .unit = series->unit,
                .whose = place->name,
                .counts = series->counts,
                .rows = {},
                .remark = series->remark};
  for (const auto& point : series->points) {
    intake::ChartRow row{.label = point.label};
    if (series->counts)
      row.count = static_cast<std::int64_t>(std::llround(point.value));
    else
      row.values = {point.value};
    points.rows.push_back(std::move(row));
  }
  return points;
}

/// The chart that suits points of no kind given.
Result<ChartKind> kind_of(const Args& args, const Points& points) {
  if (args.given("--kind")) {
    const auto kind = args.read("--kind", chart_kind);
    if (kind && of_counts(*kind) != points.counts)
      return Error{Fault::bad_input,
                   points.counts ? "--kind: counts are charted as p, np, u or c"
                                 : "--kind: measured values are charted as individuals, xbar-r, "
                                   "xbar-s, cusum or ewma"};
    return kind;
  }
  std::size_t longest = 1;
  for (const auto& row : points.rows) longest = std::max(longest, row.values.size());
  constexpr std::size_t ranges_to = 10;
  if (!points.counts)
    return longest == 1           ? ChartKind::individuals
           : longest <= ranges_to ? ChartKind::mean_range
                                  : ChartKind::mean_deviation;
  if (!args.given("--size")) return ChartKind::count;
  return Error{
      Fault::bad_input,
      "say what is counted: --kind p for flawed discs of so many, --kind u for faults on so "
      "many"};
}

Result<plan::ChartRequest> request_of(const Args& args, const Points& points) {
  plan::ChartRequest request{.what = points.what, .unit = points.unit};
  const auto kind = kind_of(args, points);
  if (!kind) return kind.error();
  request.kind = *kind;
  const auto first = args.maybe("--first", WholeFrom{2, 1'000'000});
  if (!first) return first.error();
  request.baseline = first->value_or(0);
  const auto take = [&args](const char* name, std::optional<double>& value) -> Outcome {
    const auto read = args.maybe(name, NumberFrom{-largest, largest});
    if (!read) return read.error();
    value = *read;
    return Done{};
  };
  for (const auto& [name, value] :
       {std::pair<const char*, std::optional<double>*>{"--mean", &request.centre},
        {"--sigma", &request.sigma},
        {"--spec-low", &request.spec_low},
        {"--spec-high", &request.spec_high}})
    if (const auto taken = take(name, *value); !taken) return taken.error();
  const auto rules = args.read("--rules", plan::read_rules);
  if (!rules) return rules.error();
  request.rules = *rules;
  const auto confidence = args.read("--confidence", units::fraction);
  if (!confidence) return confidence.error();
  if (*confidence < 0.5 || *confidence > 0.9999)
    return Error{Fault::bad_input, "--confidence: 50 to 99.99 %"};
  request.confidence = *confidence;
  const auto allowance = args.read("--allowance", NumberFrom{0.0, 5.0});
  if (!allowance) return allowance.error();
  const auto decision = args.read("--decision", NumberFrom{0.1, 50.0});
  if (!decision) return decision.error();
  request.cusum = {*allowance, *decision};
  const auto weight = args.read("--weight", NumberFrom{0.01, 1.0});
  if (!weight) return weight.error();
  const auto width = args.read("--width", NumberFrom{0.1, 6.0});
  if (!width) return width.error();
  request.ewma = {*weight, *width};
  const auto false_every = args.maybe("--false-every", NumberFrom{10.0, 1e6});
  if (!false_every) return false_every.error();
  if (*false_every && request.kind == ChartKind::cusum) {
    const auto design = plan::cusum_for(*allowance, **false_every);
    if (!design) return design.error();
    request.cusum = *design;
  } else if (*false_every && request.kind == ChartKind::ewma) {
    const auto design = plan::ewma_for(*weight, **false_every);
    if (!design) return design.error();
    request.ewma = *design;
  } else if (*false_every) {
    return Error{Fault::bad_input, "--false-every sets the limits of cusum and ewma alone"};
  }
  return request;
}

Result<ControlChart> chart_of(const Points& points, const plan::ChartRequest& request) {
  if (points.counts) {
    std::vector<plan::Counted> counted;
    for (const auto& row : points.rows) counted.push_back({row.label, row.count, row.size});
    return plan::chart_counts(counted, request);
  }
  std::vector<plan::Subgroup> groups;
  for (const auto& row : points.rows) groups.push_back({row.label, row.values});
  return plan::chart_values(groups, request);
}

using works::chart_figure;

std::string rules_text(const works::ChartPoint& point) {
  std::string text;
  for (const auto rule : point.rules) text += (text.empty() ? "" : ", ") + std::string{word(rule)};
  return text;
}

void put_signals(std::string& out, const ControlChart& chart) {
  std::size_t shown = 0, all = 0;
  for (const auto& panel : chart.panels)
    for (const auto& point : panel.points) {
      if (point.rules.empty() || ++all > most_signals) continue;
      ++shown;
      put(out,
          fmt::format("{}, {}: {} ({})",
                      clipped(point.label, 24),
                      panel.name,
                      chart_figure(point.value, point.sigma),
                      rules_text(point)),
          "  ▲ ",
          "      ");
    }
  if (all > shown) out += fmt::format("  and {} more; --json has them all\n", all - shown);
}

std::string index_text(const works::CapabilityIndex& index) {
  return fmt::format("{:.2f} ({:.2f} to {:.2f})", index.value, index.low, index.high);
}

void put_capability(std::string& out, const works::Capability& fit) {
  out += fmt::format("\n  capability, {:g} % confidence\n", 100.0 * fit.confidence);
  if (fit.cp) out += fmt::format("    Cp   {}\n", index_text(*fit.cp));
  out += fmt::format("    Cpk  {}\n", index_text(fit.cpk));
  if (fit.pp) out += fmt::format("    Pp   {}\n", index_text(*fit.pp));
  out += fmt::format("    Ppk  {}\n", index_text(fit.ppk));
  put(out,
      fmt::format("outside the specification {} of {} ({} to {}); of a normal process {}",
                  fit.outside,
                  fit.values,
                  percent(fit.outside_low),
                  percent(fit.outside_high),
                  percent(fit.outside_expected)),
      "    ",
      "    ");
}

std::string said(const ControlChart& chart, const Points& points) {
  const auto signals = chart.signals();
  std::string out = fmt::format(
      "{} {}: {}\n",
      signals == 0 ? "●" : "▲",
      chart.what,
      signals == 0 ? "stands still" : fmt::format("{} signal{}", signals, signals == 1 ? "" : "s"));
  const std::string unit = chart.unit.empty() ? "" : " " + chart.unit;
  put(out,
      fmt::format(
          "{} points of {}, {}{}",
          chart.panels.front().points.size(),
          points.whose,
          works::title(chart.kind),
          works::title(chart.kind).ends_with(')') ? "" : fmt::format(" ({})", word(chart.kind))),
      "  ",
      "    ");
  std::string about =
      of_counts(chart.kind)
          ? fmt::format("centre {}{}", chart_figure(chart.centre, chart.sigma), unit)
          : fmt::format("mean {}{}, sigma {}{}",
                        chart_figure(chart.centre, chart.sigma),
                        unit,
                        chart_figure(chart.sigma, 0.1 * chart.sigma),
                        unit);
  const auto& last = chart.panels.front().points.back();
  if (chart.kind != ChartKind::cusum)
    about += fmt::format("; limits {} to {}",
                         last.lower ? chart_figure(*last.lower, last.sigma) : "none",
                         last.upper ? chart_figure(*last.upper, last.sigma) : "none");
  else if (last.upper)
    about += fmt::format("; decision {} sigma", chart_figure(*last.upper, last.sigma));
  about += chart.baseline > 0 ? fmt::format(", from {} points", chart.baseline) : ", as given";
  put(out, about, "  ", "    ");
  if (chart.run_length && !of_counts(chart.kind))
    put(out,
        fmt::format(
            "a false signal every {:.0f} points, a shift of one sigma found in {:.1f} (normal "
            "values)",
            *chart.run_length,
            chart.run_length_shift.value_or(0.0)),
        "  ",
        "    ");
  put_signals(out, chart);
  if (chart.capability) put_capability(out, *chart.capability);
  for (const auto& remark : chart.remarks) put(out, remark, "  remark: ", "    ");
  out += '\n';
  put(out,
      signals == 0
          ? "go on; chart the next points against these limits with --mean and --sigma, or "
            "--first."
          : "ask what changed at the first signal before the process is touched.",
      "Next: ",
      "      ");
  return out;
}

json::Node or_null(const std::optional<double>& value) {
  return value ? json::Node{*value} : json::Node{};
}

json::Node index_node(const works::CapabilityIndex& index) {
  return json::Node::Object{{"value", index.value}, {"low", index.low}, {"high", index.high}};
}

json::Node node_of(const ControlChart& chart) {
  json::Node::List panels;
  for (const auto& panel : chart.panels) {
    json::Node::List points;
    for (const auto& point : panel.points) {
      json::Node::List rules;
      for (const auto rule : point.rules) rules.emplace_back(std::string{word(rule)});
      points.emplace_back(json::Node::Object{{"label", point.label},
                                             {"value", point.value},
                                             {"centre", point.centre},
                                             {"lower", or_null(point.lower)},
                                             {"upper", or_null(point.upper)},
                                             {"sigma", point.sigma},
                                             {"size", point.size},
                                             {"rules", std::move(rules)}});
    }
    panels.emplace_back(json::Node::Object{{"name", panel.name}, {"points", std::move(points)}});
  }
  json::Node capability;
  if (const auto& fit = chart.capability)
    capability = json::Node::Object{{"low", or_null(fit->low)},
                                    {"high", or_null(fit->high)},
                                    {"confidence", fit->confidence},
                                    {"cp", fit->cp ? index_node(*fit->cp) : json::Node{}},
                                    {"cpk", index_node(fit->cpk)},
                                    {"pp", fit->pp ? index_node(*fit->pp) : json::Node{}},
                                    {"ppk", index_node(fit->ppk)},
                                    {"outside", fit->outside},
                                    {"values", fit->values},
                                    {"outside_expected", fit->outside_expected}};
  json::Node::List remarks;
  for (const auto& remark : chart.remarks) remarks.emplace_back(remark);
  return json::Node::Object{{"schema", "goodside.chart/1"},
                            {"kind", std::string{word(chart.kind)}},
                            {"what", chart.what},
                            {"unit", chart.unit},
                            {"centre", chart.centre},
                            {"sigma", chart.sigma},
                            {"baseline", chart.baseline},
                            {"signals", chart.signals()},
                            {"run_length", or_null(chart.run_length)},
                            {"run_length_shift", or_null(chart.run_length_shift)},
                            {"panels", std::move(panels)},
                            {"capability", std::move(capability)},
                            {"remarks", std::move(remarks)}};
}

int run_chart(const Args& args, Console& console) {
  if (args.given("table") == args.given("--of"))
    return console.refuse({Fault::bad_input,
                           "give a table to chart, or --of with what the works' record is to tell; "
                           "see `goodside chart --help`"});
  draw::PlotOptions options;
  if (args.given("--picture")) {
    const auto format = picture_format(args.text("--picture"));
    if (!format) return console.refuse(format.error());
    options.format = *format;
  }
  const auto points = args.given("table") ? from_table(args) : from_record(args);
  if (!points) return console.refuse(points.error());
  const auto request = request_of(args, *points);
  if (!request) return console.refuse(request.error());
  auto chart = chart_of(*points, *request);
  if (!chart) return console.refuse(chart.error());
  if (!points->remark.empty()) chart->remarks.push_back(points->remark);
  if (args.given("--picture")) {
    options.title = points->whose;
    const auto picture = draw::control_chart_plot(*chart, options);
    if (!picture) return console.refuse(picture.error());
    if (const auto saved = intake::write_whole(args.text("--picture"), *picture); !saved)
      return console.refuse(saved.error());
  }
  return answer(args,
                console,
                said(*chart, *points),
                node_of(*chart),
                chart->signals() > 0 ? Exit::outside_limits : Exit::within_limits);
}

}  // namespace

Command chart_command() {
  return {
      .name = "chart",
      .help = "Control charts with run rules and capability, of a table or the works' record.",
      .example =
          "goodside chart demo/compound/biscuits.csv --value mass_g --first 25\n\n▲ mass_g: 1 "
          "signal\n  60 points of biscuits.csv, single values (individuals)\n  …",
      .options =
          {{.name = "table", .value = "FILE.csv", .help = "A table, a line a point or a value."},
           {.name = "--value",
            .value = "COLUMN",
            .help = "Column of values; given again, a line is a sample of several.",
            .many = true},
           {.name = "--group", .value = "COLUMN", .help = "Lines that share it are one sample."},
           {.name = "--label", .value = "COLUMN", .help = "What a point is called."},
           {.name = "--count", .value = "COLUMN", .help = "Flawed discs, or faults, counted."},
           {.name = "--size", .value = "COLUMN", .help = "Of how many."},
           {.name = "--of",
            .value = "SERIES",
            .help = "Out of the record: biscuit-mass, biscuit-thickness, biscuit-diameter, "
                    "eccentricity, noise, faults, reading:NAME."},
           {.name = "--run", .value = "RUN", .help = "Heard sides of this run alone."},
           {.name = "--side", .value = "LETTER", .help = "Heard sides of this letter alone."},
           {.name = "--kind",
            .value = "KIND",
            .help =
                "individuals, xbar-r, xbar-s, p, np, u, c, cusum, ewma; without it what suits."},
           {.name = "--unit", .value = "UNIT", .help = "Of a table's values, for the axes."},
           {.name = "--first",
            .value = "N",
            .help = "The limits rest on the first N points; without it on all."},
           {.name = "--mean", .value = "X", .help = "A mean (share, rate) known beforehand."},
           {.name = "--sigma", .value = "X", .help = "Sigma of single values known beforehand."},
           {.name = "--rules",
            .value = "RULES",
            .help = "limits, western-electric or nelson.",
            .fallback = "western-electric"},
           {.name = "--allowance",
            .value = "SIGMA",
            .help = "Of cusum, half the shift to be found.",
            .fallback = "0.5"},
           {.name = "--decision", .value = "SIGMA", .help = "Of cusum.", .fallback = "5"},
           {.name = "--weight",
            .value = "SHARE",
            .help = "Of ewma's newest point.",
            .fallback = "0.2"},
           {.name = "--width", .value = "SIGMA", .help = "Of ewma's limits.", .fallback = "3"},
           {.name = "--false-every",
            .value = "N",
            .help = "Set cusum's decision, ewma's width: a false signal every N points."},
           {.name = "--spec-low", .value = "X", .help = "Specification, for the capability."},
           {.name = "--spec-high", .value = "X", .help = "Specification, for the capability."},
           {.name = "--confidence",
            .value = "SHARE",
            .help = "Of the capability's intervals.",
            .fallback = "95%"},
           {.name = "--picture", .value = "FILE", .help = "Draw it: .png, .svg, .pdf."},
           {.name = "--in",
            .value = "DIR",
            .help = "The works folder; without it the nearest above."},
           {.name = "--json",
            .value = "FILE|-",
            .help = "Every point as JSON; - is standard output."}},
      .run = run_chart};
}

}  // namespace goodside::cli
