#include "works/part.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <vector>

namespace goodside::works {
namespace {

using enum PartState;

template <class Enum, std::size_t count>
using Words = std::array<std::pair<Enum, std::string_view>, count>;

constexpr Words<PartKind, 5> kinds{{{PartKind::lacquer, "lacquer"},
                                    {PartKind::wax, "wax"},
                                    {PartKind::father, "father"},
                                    {PartKind::mother, "mother"},
                                    {PartKind::stamper, "stamper"}}};
constexpr Words<PartState, 7> states{{{growing, "growing"},
                                      {finishing, "finishing"},
                                      {ready, "ready"},
                                      {on_press, "on press"},
                                      {resting, "resting"},
                                      {withdrawn, "withdrawn"},
                                      {scrapped, "scrapped"}}};
constexpr Words<Step, 22> steps{{{Step::silvered, "silvered"},
                                 {Step::passivated, "passivated"},
                                 {Step::grown, "grown"},
                                 {Step::separated, "separated"},
                                 {Step::faced, "faced"},
                                 {Step::chromium_stripped, "chromium stripped"},
                                 {Step::backed, "backed"},
                                 {Step::washed, "washed"},
                                 {Step::centred, "centred"},
                                 {Step::punched, "punched"},
                                 {Step::trimmed, "trimmed"},
                                 {Step::inspected, "inspected"},
                                 {Step::failed_inspection, "failed inspection"},
                                 {Step::washed_on_press, "washed on press"},
                                 {Step::repaired, "repaired"},
                                 {Step::horns_removed, "horns removed"},
                                 {Step::ticks_removed, "ticks removed"},
                                 {Step::mounted, "mounted"},
                                 {Step::unmounted, "unmounted"},
                                 {Step::withdrawn, "withdrawn"},
                                 {Step::taken_back, "taken back"},
                                 {Step::scrapped, "scrapped"}}};

template <class Enum, std::size_t count>
Result<Enum> find(const Words<Enum, count>& table, std::string_view typed, std::string_view noun) {
  std::string plain{typed}, known;
  std::replace(plain.begin(), plain.end(), '-', ' ');
  std::replace(plain.begin(), plain.end(), '_', ' ');
  for (const auto& [meaning, name] : table) {
    if (name == plain) return meaning;
    known += (known.empty() ? "" : ", ") + std::string{name};
  }
  return Error{Fault::bad_input,
               fmt::format("\"{}\" is no {}; give one of {}", plain.substr(0, 40), noun, known)};
}

/// What a step needs and what it makes of the part.
struct Rule {
  std::vector<PartState> from;
  PartState to;  ///< of a part that was in the first of `from`; others keep theirs where `keeps`
  bool keeps{};
};

Rule rule_of(Step step) {
  switch (step) {
    case Step::silvered:
    case Step::passivated:
      return {{ready, finishing, resting}, ready, true};
    case Step::grown:
      return {{growing}, growing};
    case Step::separated:
      return {{growing}, finishing};
    case Step::faced:
    case Step::backed:
    case Step::centred:
    case Step::punched:
    case Step::trimmed:
      return {{finishing}, finishing};
    case Step::chromium_stripped:
    case Step::repaired:
    case Step::horns_removed:
    case Step::ticks_removed:
      return {{finishing, ready, resting, withdrawn}, finishing};
    case Step::washed:
      return {{finishing, ready, resting, withdrawn}, finishing, true};
    case Step::inspected:
      return {{finishing, ready, resting}, ready};
    case Step::failed_inspection:
      return {{finishing, ready, resting}, finishing};
    case Step::washed_on_press:
      return {{on_press}, on_press};
    case Step::mounted:
      return {{ready, resting}, on_press};
    case Step::unmounted:
      return {{on_press}, resting};
    case Step::withdrawn:
      return {{finishing, ready, resting}, withdrawn};
    case Step::taken_back:
      return {{withdrawn}, finishing};
    case Step::scrapped:
      return {{growing, finishing, ready, resting, withdrawn}, scrapped};
  }
  return {{}, scrapped};
}

Error refused(const Part& part, Step step, std::string_view why) {
  return {Fault::conflict,
          fmt::format("{} cannot be entered as {}: {}", part.code, word(step), why)};
}

/// The reason beyond the state, or an empty text.
std::string further_reason(const Part& part, Step step) {
  const bool wet = part.kind == PartKind::lacquer || part.kind == PartKind::wax;
  const auto has = [&](Step before) { return part.done.contains(before); };
  switch (step) {
    case Step::silvered:
      return wet ? "" : "only lacquer and wax are silvered; metal is passivated";
    case Step::passivated:
      return wet ? "lacquer and wax are silvered, not passivated" : "";
    case Step::faced:
      if (wet) return "lacquer and wax carry no metal face";
      return part.faced ? "it carries a face; strip the chromium first" : "";
    case Step::chromium_stripped:
      return part.faced ? "" : "it carries no face";
    case Step::centred:
    case Step::mounted:
      return part.presses ? "" : "it is no stamper and no father that presses";
    case Step::punched:
      if (!part.presses) return "it is no stamper and no father that presses";
      if (has(Step::punched)) return "its hole has been punched";
      return has(Step::centred) ? "" : "it has not been centred";
    case Step::trimmed:
      return has(Step::punched) || !part.presses ? "" : "it has not been punched";
    case Step::inspected:
      return has(Step::punched) || !part.presses
                 ? ""
                 : "it presses, and its hole has not been punched; centre and punch it first";
    default:
      return "";
  }
}

}  // namespace

std::string_view word(PartKind kind) {
  return kinds.at(static_cast<std::size_t>(kind)).second;
}
std::string_view word(PartState state) {
  return states.at(static_cast<std::size_t>(state)).second;
}
std::string_view word(Step step) {
  return steps.at(static_cast<std::size_t>(step)).second;
}

Result<PartKind> read_part_kind(std::string_view typed) {
  return find(kinds, typed, "kind of part");
}
Result<PartState> read_part_state(std::string_view typed) {
  return find(states, typed, "state of a part");
}
Result<Step> read_step(std::string_view typed) {
  return find(steps, typed, "step");
}

Result<Part> after(Part part, Step step) {
  const Rule rule = rule_of(step);
  if (std::find(rule.from.begin(), rule.from.end(), part.state) == rule.from.end()) {
    if (part.state == scrapped) return refused(part, step, "it is scrapped");
    std::string needed;
    for (const PartState state : rule.from)
      needed += (needed.empty() ? "" : " or ") + std::string{word(state)};
    return refused(part, step, fmt::format("it is {}, and must be {}", word(part.state), needed));
  }
  if (const std::string why = further_reason(part, step); !why.empty())
    return refused(part, step, why);
  if (!rule.keeps) part.state = rule.to;
  if (step == Step::faced) {
    ++part.face;
    part.faced = true;
  }
  if (step == Step::chromium_stripped) part.faced = false;
  part.done.insert(step);
  return part;
}

Outcome may_grow(PartKind child, const Parent& parent) {
  const auto refuse = [&](std::string_view why) {
    return Error{Fault::conflict,
                 fmt::format("no {} can be grown on {}: {}", word(child), parent.part.code, why)};
  };
  const PartKind from = parent.part.kind;
  const bool wet = from == PartKind::lacquer || from == PartKind::wax;
  const bool fits = (child == PartKind::father && wet) ||
                    (child == PartKind::mother && from == PartKind::father) ||
                    (child == PartKind::stamper && from == PartKind::mother);
  if (!fits)
    return refuse(
        fmt::format("it is a {}; fathers grow on lacquer or wax, mothers on fathers, "
                    "stampers on mothers",
                    word(from)));
  if (parent.part.state != ready && parent.part.state != resting)
    return refuse(fmt::format("it is {}, and must be ready", word(parent.part.state)));
  if (parent.another_growing) return refuse("another part is growing on it");
  if (wet ? parent.films == 0 : parent.films <= parent.children)
    return refuse(wet ? "it has not been silvered"
                      : "it has not been passivated since the last growth, so the two would not "
                        "separate");
  return Done{};
}

}  // namespace goodside::works
