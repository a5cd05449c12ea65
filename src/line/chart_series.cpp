#include "line/chart_series.hpp"

#include <fmt/format.h>

#include <array>
#include <optional>
#include <set>

#include "base/near_miss.hpp"

namespace goodside::line {
namespace {

using ledger::Reader;
using ledger::Value;

/// A series of the record: its table's column, and how people read it.
struct Known {
  std::string_view name, what, unit;
  double scale;  ///< from SI to the unit
  std::string_view column;
  bool of_report;
};
constexpr std::array known{
    Known{"biscuit-mass", "biscuit mass", "g", 1e3, "mass_kg", false},
    Known{"biscuit-thickness", "biscuit thickness", "mm", 1e3, "thickness_m", false},
    Known{"biscuit-diameter", "biscuit diameter", "mm", 1e3, "diameter_m", false},
    Known{"eccentricity", "off-centre", "mm", 1e3, "eccentricity_m", true},
    Known{"noise", "surface noise", "dB", 1.0, "weighted_noise_dB", true},
    Known{"faults", "faults a side", "faults", 1.0, "", true}};
constexpr std::string_view reading_prefix = "reading:";

std::optional<double> number(const Value& cell) {
  if (const auto* whole = std::get_if<std::int64_t>(&cell)) return static_cast<double>(*whole);
  if (const auto* value = std::get_if<double>(&cell)) return *value;
  return {};
}

Error no_such_series(const std::string& of) {
  std::vector<std::string> names;
  for (const Known& one : known) names.emplace_back(one.name);
  names.emplace_back("reading:NAME");
  return {Fault::bad_input,
          fmt::format(
              "there is no series {}; {}",
              of.substr(0, 40),
              suggestion(of, names).value_or(fmt::format("there are {}", fmt::join(names, ", "))))};
}

void heard_sides(Reader& reader,
                 const SeriesRequest& request,
                 const Known& one,
                 ChartSeries& series) {
  if (!request.run.empty()) (void)reader.need("run", request.run);
  const auto rows = reader.connection().ask(
      "SELECT report.code, report.eccentricity_m, report.\"weighted_noise_dB\", report.plain, "
      "report.slight, capture.letter, ticket.run, run.title FROM report JOIN capture ON "
      "report.capture = capture.code JOIN ticket ON capture.ticket = ticket.code JOIN run ON "
      "ticket.run = run.code WHERE COALESCE(report.void, 0) = 0 "
      "AND COALESCE(capture.play, 1) = 1 ORDER BY report.at_ms, report.code",
      {});
  std::set<std::string> titles;
  for (const auto& row : rows) {
    if (!request.letter.empty() && ledger::text(row[5]) != request.letter) continue;
    if (!request.run.empty() && ledger::text(row[6]) != request.run) continue;
    const std::optional<double> value =
        series.counts ? std::optional{number(row[3]).value_or(0.0) + number(row[4]).value_or(0.0)}
                      : number(one.column == "eccentricity_m" ? row[1] : row[2]);
    if (!value) continue;
    series.points.push_back({ledger::text(row[0]), *value * one.scale});
    titles.insert(ledger::text(row[7]));
  }
  if (titles.size() > 1)
    series.remark = fmt::format(
        "the points are of {} titles; what differs between them (format, compound, cut) shows as a "
        "signal: chart one run with --run",
        titles.size());
}

void biscuits(Reader& reader, const Known& one, ChartSeries& series) {
  for (const auto& row : reader.connection().ask(
           fmt::format(
               "SELECT code, {} FROM biscuit WHERE COALESCE(void, 0) = 0 ORDER BY at_ms, code",
               one.column),
           {}))
    if (const auto value = number(row[1]))
      series.points.push_back({ledger::text(row[0]), *value * one.scale});
}

void readings(Reader& reader, const std::string& name, ChartSeries& series) {
  for (const auto& row : reader.connection().ask("SELECT step, value FROM reading WHERE name = $1 "
                                                 "AND COALESCE(void, 0) = 0 ORDER BY at_ms, "
                                                 "code",
                                                 {name}))
    if (const auto value = number(row[1])) series.points.push_back({ledger::text(row[0]), *value});
}

}  // namespace

Result<ChartSeries> chart_series(ledger::Record& record, const SeriesRequest& request) {
  const Known* found = nullptr;
  for (const Known& one : known)
    if (one.name == request.of) found = &one;
  const bool reading = request.of.starts_with(reading_prefix);
  if (found == nullptr && !reading) return no_such_series(request.of);
  if ((found == nullptr || !found->of_report) && (!request.run.empty() || !request.letter.empty()))
    return Error{Fault::bad_input,
                 "a run or a side chooses among heard sides alone: eccentricity, noise, faults"};
  ChartSeries series;
  const auto asked = record.read([&](Reader& reader) {
    series = {};
    if (found == nullptr) {
      series.what = request.of.substr(reading_prefix.size());
      series.unit = "SI";
      readings(reader, series.what, series);
      return;
    }
    series.what = found->what;
    series.unit = found->unit;
    series.counts = found->name == "faults";
    if (found->of_report)
      heard_sides(reader, request, *found, series);
    else
      biscuits(reader, *found, series);
  });
  if (!asked) return asked.error();
  if (series.points.empty())
    return Error{
        Fault::bad_input,
        fmt::format("the record holds no {} yet; enter some, or chart a table", series.what)};
  return series;
}

}  // namespace goodside::line
