#include <fmt/format.h>

#include <algorithm>
#include <ostream>
#include <vector>

#include "cli/commands.hpp"
#include "cli/standing_text.hpp"
#include "cli/wrap.hpp"
#include "intake/safe_file.hpp"
#include "json/bench_results.hpp"
#include "line/heard_reports.hpp"
#include "units/number.hpp"

namespace goodside::cli {
namespace {

using works::BenchCheck;
using works::BenchMeasure;

Result<double> number_in(std::string_view text, double low, double high) {
  const auto number = units::leading_number(units::trimmed(text));
  if (!number || !number->rest.empty() || !(number->value >= low && number->value <= high))
    return Error{Fault::bad_input,
                 fmt::format("\"{}\" is not a number from {:g} to {:g}", text, low, high)};
  return number->value;
}

Result<int> first_plays(std::string_view text) {
  const auto number = number_in(text, 4.0, 1000.0);
  if (!number) return number.error();
  if (*number != static_cast<int>(*number))
    return Error{Fault::bad_input, fmt::format("\"{}\" is no whole number; for instance 10", text)};
  return static_cast<int>(*number);
}

/// "0,1,2,5": the day of each play.
Result<std::vector<double>> days(std::string_view text) {
  constexpr double latest = 1e6;
  std::vector<double> all;
  for (std::size_t from = 0; from <= text.size();) {
    const std::size_t comma = std::min(text.find(',', from), text.size());
    const auto day = number_in(text.substr(from, comma - from), 0.0, latest);
    if (!day) return day.error();
    all.push_back(*day);
    from = comma + 1;
  }
  return all;
}

bool is_band(const BenchMeasure& measure) {
  return measure.field.starts_with("levels.third_octave.");
}

void put_moved(std::string& out, const BenchCheck& check) {
  constexpr std::size_t most_moved = 8;
  std::size_t shown = 0, all = 0;
  for (const auto& measure : check.measures) {
    if (!measure.moved || ++all > most_moved) continue;
    ++shown;
    put(out, fmt::format("{}: {}", measure.name, measure.how), "  - ", "    ");
  }
  if (all > shown) out += fmt::format("  - and {} more; --json has them all\n", all - shown);
}

std::string row(const std::string& name, const BenchMeasure& measure) {
  return fmt::format("{:<20} {:>9.4g} {:>9.3g}  {:>19}  {:>10.3g}  {}\n",
                     name,
                     measure.centre,
                     measure.latest - measure.centre,
                     fmt::format("{:.3g} ({:.2g}-{:.2g})",
                                 measure.repeatability,
                                 measure.repeatability_low,
                                 measure.repeatability_high),
                     measure.drift_per_day.value_or(0.0),
                     measure.moved ? "moved" : "");
}

void put_table(std::string& out, const BenchCheck& check) {
  out += fmt::format("\n{:<20} {:>9} {:>9}  {:>19}  {:>10}\n",
                     "",
                     "stood at",
                     "now",
                     "repeats to (95 %)",
                     "drift/day");
  const BenchMeasure* worst = nullptr;
  std::size_t bands = 0;
  for (const auto& measure : check.measures) {
    if (!is_band(measure)) {
      out += row(fmt::format("{}, {}", measure.name, measure.unit), measure);
      continue;
    }
    ++bands;
    const auto off = [](const BenchMeasure& one) {
      const double width = one.high - one.low;
      return width > 0.0 ? std::abs(one.latest - one.centre) / width : 0.0;
    };
    if (worst == nullptr || off(measure) > off(*worst)) worst = &measure;
  }
  if (worst != nullptr)
    out += row(fmt::format("{}, dB", worst->name), *worst) +
           fmt::format("  the furthest off of {} third octaves\n", bands);
}

void put_earlier(std::string& out, const BenchCheck& check) {
  for (const auto& measure : check.measures) {
    if (measure.moved || measure.outside.empty()) continue;
    put(out,
        fmt::format("{} was out in play {}, and is back", measure.name, measure.outside.back()),
        "  remark  ",
        "          ");
  }
}

std::string said(const BenchCheck& check, bool colour) {
  const auto standing = check.moved ? draw::Standing::out : draw::Standing::good;
  const std::string head = fmt::format(
      "{} {}", shape(standing), check.moved ? "The bench has moved" : "The bench stands still");
  std::string out = coloured(standing, head, colour) +
                    fmt::format("  {} plays of the check disc, {} as its standard\n",
                                check.plays.size(),
                                check.first_plays);
  put_moved(out, check);
  put_table(out, check);
  put_earlier(out, check);
  for (const auto& remark : check.remarks) put(out, remark, "  remark  ", "          ");
  out += '\n';
  if (!check.moved) return out + "Next: hear today's discs.\n";
  std::string act = "before discs are judged here, look at ";
  constexpr std::size_t most_acts = 3;
  for (std::size_t i = 0; i < std::min(most_acts, check.look_at.size()); ++i)
    act += (i == 0 ? "" : "; ") + check.look_at[i];
  put(out, act + ". Then play the check disc again.", "Next: ", "      ");
  return out;
}

int check(const Args& args, Console& console) {
  line::CheckDiscPlays request{.reports = args.all("reports"), .day = {}};
  if (args.given("--days")) {
    auto day = args.read("--days", days);
    if (!day) return console.refuse(day.error());
    request.day = std::move(*day);
  }
  const auto first = args.maybe("--first", first_plays);
  if (!first) return console.refuse(first.error());
  request.first_plays = first->value_or(0);
  const auto checked = line::check_bench_by_reports(request);
  if (!checked) return console.refuse(checked.error());
  const std::string& json = args.text("--json");
  if (!json.empty() && json != "-")
    if (const auto saved = intake::write_whole(json, json::write(*checked)); !saved)
      return console.refuse(saved.error());
  console.out() << (json == "-" ? json::write(*checked) : said(*checked, console.colour()));
  return static_cast<int>(checked->moved ? Exit::outside_limits : Exit::within_limits);
}

}  // namespace

Command check_disc_command() {
  return {
      .name = "check-disc",
      .help = "Tells from a disc played each day whether the bench has moved.",
      .example = R"(goodside check-disc monday.json tuesday.json ... --first 10

▲ The bench has moved  24 plays of the check disc, 10 as its standard
  - 10 kHz: -1.2 dB from where it stood
  ...
Next: before discs are judged here, look at treble down: the stylus, worn or
      dirty, and the tracking force. Then play the check disc again.)",
      .options = {{.name = "reports",
                   .value = "REPORT",
                   .help = "Reports of the check disc, as --json of listen wrote them, in order "
                           "of time; or a folder whose names are in that order.",
                   .required = true,
                   .many = true},
                  {.name = "--first",
                   .value = "N",
                   .help = "The first plays, that show the bench as it was set up. Without it "
                           "half of them, 5 to 20."},
                  {.name = "--days",
                   .value = "LIST",
                   .help = "The day of each play, where it was not one a day: 0,1,4,5."},
                  {.name = "--json",
                   .value = "FILE|-",
                   .help = "Write every chart; - is standard output."}},
      .run = check};
}

}  // namespace goodside::cli
