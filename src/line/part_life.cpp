#include "line/part_life.hpp"

#include <fmt/format.h>

#include <array>

#include "units/number.hpp"
#include "units/read.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::or_refuse;
using ledger::Reader;
using ledger::Refused;
using ledger::Row;
using ledger::text;
using ledger::whole;
using ledger::Writer;

struct Unit {
  Result<double> (*read)(std::string_view);
  std::string_view suffix;
};
/// Tried in this order; none of their spellings is shared, save the bare numbers that come first.
constexpr std::array units_of_readings{Unit{units::length_m, "_m"},
                                       Unit{units::mass_kg, "_kg"},
                                       Unit{units::temperature_K, "_K"},
                                       Unit{units::pressure_Pa, "_Pa"},
                                       Unit{units::duration_s, "_s"},
                                       Unit{units::frequency_Hz, "_Hz"}};

bool plain_name(std::string_view name) {
  if (name.empty() || name.size() > 40) return false;
  return name.find_first_not_of(
             "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_") ==
         std::string_view::npos;
}

}  // namespace

KnownPart known_part(Reader& reader, const std::string& code) {
  KnownPart known{reader.need("part", code), {}};
  const Row& row = known.row;
  known.part = {.code = code,
                .kind = or_refuse(works::read_part_kind(text(at(row, "kind")))),
                .state = or_refuse(works::read_part_state(text(at(row, "state")))),
                .face = whole(at(row, "face")),
                .faced = whole(at(row, "faced")) != 0,
                .presses = whole(at(row, "presses")) != 0};
  for (const Row& step : reader.where("step", "part", code))
    if (ledger::stands(step))
      known.part.done.insert(or_refuse(works::read_step(text(at(step, "what")))));
  // What came finished from elsewhere has been through what makes it ready.
  if (text(at(row, "origin")) != "grown")
    for (const auto step : {works::Step::grown, works::Step::centred, works::Step::punched})
      known.part.done.insert(step);
  return known;
}

KnownParent parent_facts(Reader& reader, const std::string& code) {
  KnownPart known = known_part(reader, code);
  KnownParent facts{std::move(known.row), {.part = std::move(known.part)}};
  for (const Row& step : reader.where("step", "part", code)) {
    if (whole(at(step, "void")) != 0) continue;
    const std::string what = text(at(step, "what"));
    if (what == "silvered" || what == "passivated") ++facts.parent.films;
  }
  for (const Row& child : reader.where("part", "parent", code)) {
    if (whole(at(child, "void")) != 0) continue;
    // Children from cards grew before this record began, on films it does not know of.
    if (text(at(child, "origin")) == "card") ++facts.parent.films;
    ++facts.parent.children;
    facts.parent.another_growing |= text(at(child, "state")) == "growing";
  }
  return facts;
}

Result<Reading> read_reading(std::string_view name, std::string_view said) {
  if (!plain_name(name))
    return Error{Fault::bad_input,
                 fmt::format("\"{}\" is no name for a reading; use letters, digits and _, such as "
                             "thickness=212um",
                             name.substr(0, 40))};
  if (const auto fit = fit_text(said); !fit)
    return Error{Fault::bad_input, fmt::format("{}: {}", name, fit.error().text)};
  Reading reading{std::string{name}};
  const auto number = units::leading_number(units::trimmed(said));
  if (number && number->rest.empty()) {
    reading.value = number->value;
    return reading;
  }
  if (number)
    for (const Unit& unit : units_of_readings)
      if (const auto value = unit.read(said)) {
        reading.value = *value;
        if (!name.ends_with(unit.suffix)) reading.name += unit.suffix;
        return reading;
      }
  reading.said = said;
  return reading;
}

std::string do_step(Writer& writer, const StepDone& done) {
  KnownPart known = known_part(writer, done.part);
  if (known.part.state == works::PartState::ready || known.part.state == works::PartState::resting)
    for (const Row& child : writer.where("part", "parent", done.part))
      if (text(at(child, "state")) == "growing" && ledger::stands(child))
        throw Refused{{Fault::conflict,
                       fmt::format("{} cannot be entered as {}: {} is growing on it",
                                   done.part,
                                   word(done.step),
                                   text(at(child, "code")))}};
  const works::Part now = or_refuse(works::after(known.part, done.step));
  known.row["state"] = std::string{word(now.state)};
  known.row["face"] = now.face;
  known.row["faced"] = std::int64_t{now.faced};
  writer.about(done.part);
  writer.alter("part", known.row);
  Row step{{"part", done.part},
           {"what", std::string{word(done.step)}},
           {"face", now.face},
           {"state_after", std::string{word(now.state)}}};
  if (!done.note.empty()) step["note"] = done.note;
  if (done.at_ms) step["at_ms"] = *done.at_ms;
  if (!done.mounting.empty()) step["mounting"] = done.mounting;
  const std::string code = writer.add(works::kind_of_table("step"), std::move(step));
  for (const Reading& reading : done.readings) {
    Row row{{"step", code}, {"name", reading.name}};
    if (reading.value) row["value"] = *reading.value;
    if (!reading.said.empty()) row["said"] = reading.said;
    writer.add(works::kind_of_table("reading"), std::move(row));
  }
  return code;
}

Result<Entered> log_step(const Desk& desk, const StepDone& done) {
  if (done.step == works::Step::mounted || done.step == works::Step::unmounted)
    return Error{Fault::bad_input,
                 "a part is mounted by `goodside works mount` and taken off by `unmount`"};
  const bool says_why = done.step == works::Step::withdrawn || done.step == works::Step::scrapped ||
                        done.step == works::Step::failed_inspection;
  if (says_why && done.note.empty())
    return Error{Fault::bad_input,
                 fmt::format("{} needs a reason; give --note \"…\"", word(done.step))};
  Entered entered;
  const auto head =
      desk.record.write(desk.act(std::string{word(done.step)}, done.part),
                        [&](Writer& writer) { entered.code = do_step(writer, done); });
  if (!head) return head.error();
  entered.head = *head;
  return entered;
}

}  // namespace goodside::line
