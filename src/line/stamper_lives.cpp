#include "line/stamper_lives.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <filesystem>
#include <set>
#include <utility>

#include "intake/limits.hpp"
#include "intake/works_folder.hpp"
#include "line/family_of_record.hpp"
#include "trace/closings.hpp"
#include "trace/life.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::Row;
using ledger::text;
using ledger::whole;
using works::Impressions;
using works::LifeCause;
using works::StamperLife;

constexpr double believed = 0.5, confidence = 0.95;
constexpr std::size_t fewest_readings = 5;

/// What a note of withdrawal says of the end; words that hands write, by their beginnings.
std::optional<LifeCause> cause_in(std::string note) {
  std::ranges::transform(
      note, note.begin(), [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  constexpr std::array<std::pair<std::string_view, LifeCause>, 18> words{{
      {"crack", LifeCause::crack},
      {"split", LifeCause::crack},
      {"torn", LifeCause::crack},
      {"fatigue", LifeCause::crack},
      {"worn", LifeCause::wear},
      {"wear", LifeCause::wear},
      {"noisy", LifeCause::wear},
      {"noise", LifeCause::wear},
      {"scratch", LifeCause::damage},
      {"dent", LifeCause::damage},
      {"damage", LifeCause::damage},
      {"grit", LifeCause::damage},
      {"bruise", LifeCause::damage},
      {"tick", LifeCause::damage},
      {"bent", LifeCause::damage},
      {"lost", LifeCause::loss},
      {"missing", LifeCause::loss},
      {"stolen", LifeCause::loss},
  }};
  for (const auto& [word, cause] : words) {
    const auto place = note.find(word);
    if (place != note.npos &&
        (place == 0 || std::isalpha(static_cast<unsigned char>(note[place - 1])) == 0))
      return cause;
  }
  return {};
}

/// One end that the evidence allows: good to an age, ended by another.
struct End {
  double good_to{}, ended_by{};
  std::optional<LifeCause> cause;
};

/// What a stamper pressed, in order; closings run on from stretch to stretch.
struct Stretch {
  std::string run, press;
  Impressions of_run;
  std::optional<std::int64_t> title_first;
  std::int64_t before{};  ///< closings before it
};

class Stamper {
 public:
  /// `letter` of the side that it carries.
  Stamper(Reader& reader, std::string code, std::string letter, std::vector<Stretch> pressed)
      : reader_{reader},
        code_{std::move(code)},
        letter_{std::move(letter)},
        pressed_{std::move(pressed)} {
    for (Stretch& one : pressed_) {
      one.before = closings_;
      closings_ += one.of_run.width();
    }
  }

  [[nodiscard]] std::int64_t closings() const { return closings_; }

  StamperLife life(const works::TraceReport* trace,
                   std::optional<double> limit_dB,
                   std::vector<std::string>& remarks) {
    StamperLife life{.stamper = code_,
                     .material = material(),
                     .press = press(),
                     .facing = facing(),
                     .good_to_closings = static_cast<double>(closings_)};
    const auto noted = end_noted(remarks);
    std::vector<End> ends;
    if (noted) ends.push_back(*noted);
    if (trace != nullptr)
      if (auto end = end_traced(*trace)) {
        if (noted) end->cause = noted->cause;
        ends.push_back(*end);
      }
    if (limit_dB)
      if (const auto end = end_worn(*limit_dB)) ends.push_back(*end);
    const auto first = std::ranges::min_element(ends, {}, &End::ended_by);
    if (first == ends.end()) return life;
    life.good_to_closings = first->good_to;
    life.ended_by_closings = first->ended_by;
    life.cause = first->cause;
    return life;
  }

 private:
  [[nodiscard]] std::optional<double> age(const std::string& run, std::int64_t impression) const {
    for (const Stretch& one : pressed_)
      if (one.run == run && impression >= one.of_run.first && impression <= one.of_run.last)
        return static_cast<double>(one.before + impression - one.of_run.first + 1);
    return {};
  }

  [[nodiscard]] std::string press() const {
    std::map<std::string, std::int64_t> closings;
    for (const Stretch& one : pressed_) closings[one.press] += one.of_run.width();
    return std::ranges::max_element(closings, {}, [](const auto& each) { return each.second; })
        ->first;
  }
  std::string material() {
    std::map<std::string, std::int64_t> closings;
    for (const Stretch& one : pressed_)
      if (const auto run = reader_.find("run", one.run))
        if (const auto order = reader_.find("orders", text(at(*run, "order"))))
          closings[text(at(*order, "material"))] += one.of_run.width();
    return closings.empty() ? "" : std::ranges::max_element(closings, {}, [](const auto& each) {
                                     return each.second;
                                   })->first;
  }
  std::string facing() {
    const auto row = reader_.find("part", code_);
    if (!row || ledger::is_null(at(*row, "faced"))) return "";
    return whole(at(*row, "faced")) != 0 ? "faced" : "bare";
  }

  /// The first flawed impression as a trace has it.
  [[nodiscard]] std::optional<End> end_traced(const works::TraceReport& trace) const {
    std::vector<Impressions> mounted;
    for (const Stretch& one : pressed_) {
      if (!one.title_first) return {};  // its impressions have no place in the title's count
      mounted.push_back({*one.title_first, *one.title_first + one.of_run.width() - 1});
    }
    std::optional<End> first;
    for (const auto& fault : trace.recurring) {
      const auto& cause = fault.cause;
      if (cause.level != works::CauseLevel::stamper || cause.id != code_) continue;
      if (fault.audibility != works::Audibility::plain || !cause.onset) continue;
      if (cause.posterior_with_same < believed || cause.since_birth > believed) continue;
      if (cause.end && cause.end->probability > believed) continue;
      const auto life = trace::life_of({.known = {},
                                        .mounted = mounted,
                                        .onset = Impressions{cause.onset->low, cause.onset->high}});
      const End end{life.good_to_closings, *life.ended_by_closings, LifeCause::damage};
      if (!first || end.ended_by < first->ended_by) first = end;
    }
    return first;
  }

  /// The last step that took it off for good, where its note names a cause.
  std::optional<End> end_noted(std::vector<std::string>& remarks) {
    std::optional<Row> last;
    for (Row& step : reader_.standing("step", "part", code_)) {
      const std::string what = text(at(step, "what"));
      if (what == "taken back") last.reset();
      if (what == "withdrawn" || what == "scrapped" || what == "failed inspection")
        last = std::move(step);
    }
    if (!last) return {};
    const std::string note = text(at(*last, "note"));
    const auto cause = cause_in(note);
    if (!cause) {
      remarks.push_back(fmt::format("{} was {} (\"{}\"), which names no end: taken as still good",
                                    code_,
                                    text(at(*last, "what")),
                                    note.substr(0, 60)));
      return {};
    }
    double good_to = 0.0;
    for (const auto& run : runs())
      for (const Row& ticket : reader_.standing("ticket", "run", run))
        if (text(at(ticket, "heard")) == "good")
          if (const auto heard = age(run, whole(at(ticket, "first"))))
            good_to = std::max(good_to, *heard);
    const auto ended = static_cast<double>(closings_);
    return End{std::min(good_to, ended - 1.0), ended, cause};
  }

  /// Noise over age, of each disc its quietest play.
  std::optional<End> end_worn(double limit_dB) {
    std::vector<trace::NoiseAtAge> readings;
    std::set<double> ages;
    for (const auto& run : runs())
      for (const Row& ticket : reader_.standing("ticket", "run", run)) {
        const std::int64_t first = whole(at(ticket, "first")), last = whole(at(ticket, "last"));
        const auto from = age(run, first), to = age(run, last);
        if (!from || !to) continue;
        std::optional<double> quietest;
        for (const Row& capture : reader_.standing("capture", "ticket", text(at(ticket, "code")))) {
          if (text(at(capture, "letter")) != letter_) continue;
          for (const Row& report : reader_.standing("report", "capture", text(at(capture, "code"))))
            if (const auto& noise = at(report, "weighted_noise_dB"); !ledger::is_null(noise))
              quietest = std::min(quietest.value_or(HUGE_VAL), std::get<double>(noise));
        }
        if (!quietest) continue;
        readings.push_back({0.5 * (*from + *to), *quietest});
        ages.insert(readings.back().closings);
      }
    if (readings.size() < fewest_readings || ages.size() < 3) return {};
    const auto worn = trace::worn_age(readings, limit_dB, confidence);
    if (!worn || !worn->to) return {};
    return End{worn->above, *worn->to, LifeCause::wear};
  }

  [[nodiscard]] std::set<std::string> runs() const {
    std::set<std::string> all;
    for (const Stretch& one : pressed_) all.insert(one.run);
    return all;
  }

  Reader& reader_;
  std::string code_, letter_;
  std::vector<Stretch> pressed_;
  std::int64_t closings_{};
};

/// What each part on a press has pressed, in the order it was entered.
std::map<std::string, std::vector<Stretch>> pressed_by_part(Reader& reader) {
  std::map<std::string, std::vector<Stretch>> parts;
  std::map<std::string, std::optional<Row>> mountings;
  const auto rows = reader.connection().ask(
      "SELECT code FROM pressing WHERE COALESCE(void, 0) = 0 AND mounting IS NOT NULL ORDER BY "
      "event, code",
      {});
  for (const auto& cells : rows) {
    const auto pressing = reader.find("pressing", cells[0]);
    if (!pressing) continue;
    const std::string code = text(at(*pressing, "mounting"));
    const auto [held, fresh] = mountings.try_emplace(code);
    if (fresh) held->second = reader.find("mounting", code);
    if (!held->second) continue;
    Stretch stretch{.run = text(at(*pressing, "run")),
                    .press = text(at(*held->second, "press")),
                    .of_run = {whole(at(*pressing, "first")), whole(at(*pressing, "last"))},
                    .title_first = {},
                    .before = 0};
    if (!ledger::is_null(at(*pressing, "title_first")))
      stretch.title_first = whole(at(*pressing, "title_first"));
    for (const char* column : {"stamper_a", "stamper_b"})
      if (const auto part = text(at(*held->second, column)); !part.empty())
        parts[part].push_back(stretch);
  }
  return parts;
}

/// The side that a part carries: its own, or its ancestors' cut's.
std::string side_of(Reader& reader, std::string part) {
  std::set<std::string> met;
  while (!part.empty() && met.insert(part).second) {
    const auto row = reader.find("part", part);
    if (!row) return {};
    if (auto side = text(at(*row, "side")); !side.empty()) return side;
    if (const auto cut = reader.find("cut", text(at(*row, "cut")))) return text(at(*cut, "side"));
    part = text(at(*row, "parent"));
  }
  return {};
}

/// Of the side's format; none where the format is not known.
std::optional<double> noise_limit_dB(const std::optional<Row>& side, const std::string& toml) {
  const std::string format = side ? text(at(*side, "format")) : "";
  if (format.empty()) return {};
  return ledger::or_refuse(intake::read_limits(toml, format)).weighted_noise_dB;
}

trace::LifeCosts life_costs(const works::TraceCosts& costs) {
  const double change = costs.new_stamper + costs.unplanned_stop;
  return {.planned_change = costs.new_stamper,
          .disc = costs.disc,
          .failures = {{{change, costs.scrapped_by_wear},
                        {change, costs.scrapped_by_crack},
                        {change, costs.scrapped_by_damage},
                        {change, costs.scrapped_by_loss}}}};
}

}  // namespace

Result<KnownLives> lives_of_record(ledger::Record& record,
                                   const std::string& folder,
                                   const std::map<std::string, works::TraceReport>& traces) {
  const std::string toml = (std::filesystem::path{folder} / intake::works_file_name).string();
  KnownLives known;
  const auto asked = record.read([&](Reader& reader) {
    known = {};
    for (auto& [part, pressed] : pressed_by_part(reader)) {
      const std::string side = side_of(reader, part);
      const auto trace = traces.find(side);
      const auto row = reader.find("side", side);
      Stamper stamper{reader, part, row ? text(at(*row, "letter")) : "", std::move(pressed)};
      if (stamper.closings() == 0) continue;
      known.lives.push_back(stamper.life(trace == traces.end() ? nullptr : &trace->second,
                                         noise_limit_dB(row, toml),
                                         known.remarks));
    }
  });
  if (!asked) return asked.error();
  if (known.lives.empty())
    return Error{Fault::bad_input,
                 "no stamper of the record has pressed yet; enter mountings and impressions first, "
                 "or give a table with --lives FILE.csv"};
  return known;
}

Result<std::map<std::string, works::TraceReport>> traces_of_record(
    ledger::Record& record,
    const std::string& folder,
    int jobs,
    std::vector<std::string>& remarks) {
  std::vector<std::string> sides;
  const auto asked = record.read([&](Reader& reader) {
    sides.clear();
    for (const auto& cells : reader.connection().ask(
             "SELECT code FROM side WHERE COALESCE(void, 0) = 0 ORDER BY code", {}))
      sides.push_back(text(cells[0]));
  });
  if (!asked) return asked.error();
  std::map<std::string, works::TraceReport> traces;
  for (const std::string& side : sides) {
    auto heard = family_of_record(record, folder, side, {}, jobs);
    if (!heard && heard.error().fault == Fault::bad_input) continue;  // never heard
    if (!heard) return heard.error();
    auto traced = trace_family(std::move(*heard), jobs);
    if (traced)
      traces.emplace(side, std::move(traced->trace));
    else
      remarks.push_back(fmt::format("side {} cannot be traced: {}", side, traced.error().text));
  }
  return traces;
}

Result<works::LifeReport> life_report(const KnownLives& known,
                                      const works::TraceCosts& costs,
                                      int jobs) {
  auto report = trace::stamper_lives(
      known.lives, {.confidence = confidence, .costs = life_costs(costs), .jobs = jobs});
  if (!report) return report.error();
  report->remarks = known.remarks;
  if (auto invented = works::invented_costs(costs); !invented.empty())
    report->remarks.push_back(std::move(invented));
  return report;
}

}  // namespace goodside::line
