#include "line/give_opinion.hpp"

#include <fmt/format.h>

#include <cmath>

#include "line/read_fields.hpp"
#include "line/reverse_entry.hpp"
#include "works/kind.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::Row;
using ledger::text;

constexpr double struck_within_s = 1.0;

Outcome check(const Opinion& opinion) {
  for (const std::string& words : {opinion.what, opinion.words})
    if (auto fit = fit_text(words); !fit) return fit;
  const bool added = opinion.opinion == "added";
  if (!added && opinion.opinion != "agree" && opinion.opinion != "disagree")
    return Error{Fault::bad_input, "opinion: give agree, disagree or added"};
  if (added && (opinion.fault || !opinion.capture_s))
    return Error{Fault::bad_input, "a fault that was added has a capture_s and no id"};
  for (const auto& place : {opinion.programme_s, opinion.capture_s})
    if (place && !(std::isfinite(*place) && *place >= 0.0 && *place <= 36'000.0))
      return Error{Fault::bad_input, "a place in a side lies between 0 and 36 000 s"};
  return Done{};
}

}  // namespace

Result<Entered> give_opinion(const Desk& desk, const Opinion& opinion) {
  if (const auto checked = check(opinion); !checked) return checked.error();
  Entered entered;
  const auto head = desk.record.write(desk.act("opinion"), [&](ledger::Writer& writer) {
    const Row report = writer.need("report", opinion.report);
    const Row capture = writer.need("capture", text(at(report, "capture")));
    Row row{{"report", opinion.report}, {"opinion", opinion.opinion}};
    if (opinion.fault) row["fault"] = *opinion.fault;
    if (opinion.programme_s) row["programme_s"] = *opinion.programme_s;
    if (opinion.capture_s) row["capture_s"] = *opinion.capture_s;
    if (!opinion.what.empty()) row["what"] = opinion.what;
    if (!opinion.words.empty()) row["words"] = opinion.words;
    entered.code = writer.add(works::kind_of_table("opinion"), std::move(row));
    if (opinion.opinion != "added") return;
    Row remark{
        {"ticket", at(capture, "ticket")},
        {"letter", at(capture, "letter")},
        {"words",
         opinion.words.empty() ? "heard: " + (opinion.what.empty() ? "a fault" : opinion.what)
                               : opinion.words}};
    if (opinion.programme_s) {
      remark["programme_s"] = *opinion.programme_s;
      remark["within_s"] = struck_within_s;
    }
    writer.add(works::kind_of_table("remark"), std::move(remark));
  });
  if (!head) return head.error();
  entered.head = *head;
  return entered;
}

Result<ledger::Head> take_back_opinion(const Desk& desk,
                                       const std::string& report,
                                       const std::string& opinion,
                                       const std::string& reason,
                                       bool of_others) {
  Row row;
  const auto read = desk.record.read([&](ledger::Reader& reader) {
    if (auto found = reader.find("opinion", opinion)) row = std::move(*found);
  });
  if (!read) return read.error();
  if (row.empty() || text(at(row, "report")) != report)
    return Error{Fault::not_found,
                 fmt::format("nothing of the name {} was said of {}", opinion, report)};
  const std::string who = text(at(row, "who"));
  if (!ledger::stands(row))
    return Error{Fault::conflict, fmt::format("{} was taken back before", opinion)};
  if (!of_others && who != desk.who)
    return Error{Fault::conflict,
                 fmt::format("{} said that; they or an engineer take it back", who)};
  return reverse_entry(desk, ledger::whole(at(row, "event")), reason);
}

}  // namespace goodside::line
