#include "cli/fault_text.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <string>
#include <utility>

#include "units/number.hpp"
#include "units/read.hpp"

namespace goodside::cli {
namespace {

using works::FaultChannel;
using works::FaultPlan;
using works::PlannedKind;

template <class Value, std::size_t count>
using Words = std::array<std::pair<std::string_view, Value>, count>;

constexpr Words<PlannedKind, 11> kinds{{{"tick", PlannedKind::tick},
                                        {"pop", PlannedKind::pop},
                                        {"burst", PlannedKind::burst},
                                        {"dropout", PlannedKind::dropout},
                                        {"jump", PlannedKind::jump},
                                        {"repeat", PlannedKind::repeat},
                                        {"locked", PlannedKind::locked},
                                        {"clip", PlannedKind::clip},
                                        {"scratch", PlannedKind::scratch},
                                        {"arc", PlannedKind::arc},
                                        {"dirt", PlannedKind::dirt}}};

constexpr Words<FaultChannel, 3> channels{
    {{"left", FaultChannel::left}, {"right", FaultChannel::right}, {"both", FaultChannel::both}}};

template <class Value, std::size_t count>
Result<Value> word(std::string_view text, const Words<Value, count>& words) {
  std::string choices;
  for (const auto& [name, value] : words) {
    if (name == text) return value;
    choices += fmt::format("{}{}", choices.empty() ? "" : ", ", name);
  }
  return Error{Fault::bad_input, fmt::format("\"{}\" is none of {}", text, choices)};
}

Result<double> degrees(std::string_view text) {
  const auto number = units::leading_number(units::trimmed(text));
  if (number && number->rest.empty() && std::abs(number->value) <= 360.0) return number->value;
  return Error{Fault::bad_input,
               fmt::format("\"{}\" is no angle from -360 to 360 degrees; for instance 88", text)};
}

Result<int> whole(std::string_view text) {
  const auto number = units::leading_number(units::trimmed(text));
  if (number && number->rest.empty() && number->value >= 1.0 && number->value <= 10000.0 &&
      number->value == std::floor(number->value))
    return static_cast<int>(number->value);
  return Error{Fault::bad_input,
               fmt::format("\"{}\" is no whole number from 1 to 10000; for instance 8", text)};
}

/// Puts the value where it belongs, or hands its error on.
template <class Value, class Into>
Outcome put(const Result<Value>& value, Into& into) {
  if (!value) return value.error();
  into = *value;
  return Done{};
}

Outcome read_place(std::string_view text, FaultPlan& plan) {
  const auto slash = text.find('/');
  if (slash == std::string_view::npos) return put(units::duration_s(text), plan.programme_s);
  if (const Outcome radius = put(units::length_m(text.substr(0, slash)), plan.radius_m); !radius)
    return radius;
  return put(degrees(text.substr(slash + 1)), plan.angle_deg);
}

Outcome read_key(std::string_view text, FaultPlan& plan) {
  const auto equals = text.find('=');
  const std::string_view key = text.substr(0, equals);
  const std::string_view value =
      equals == std::string_view::npos ? std::string_view{} : text.substr(equals + 1);
  if (key == "peak") return put(units::level_dB(value), plan.peak_dB);
  if (key == "duration") return put(units::duration_s(value), plan.duration_s);
  if (key == "turns") return put(whole(value), plan.turns);
  if (key == "count") return put(whole(value), plan.count);
  if (key == "span") return put(degrees(value), plan.span_deg);
  if (key == "channel") return put(word(value, channels), plan.channel);
  return Error{Fault::bad_input,
               fmt::format("\"{}\" is none of peak, duration, turns, count, span, channel", key)};
}

}  // namespace

Result<FaultPlan> fault_plan(std::string_view text) {
  const auto refuse = [&](const Error& error) {
    return Error{error.fault, fmt::format("fault \"{}\": {}", text, error.text)};
  };
  const auto at = text.find('@');
  if (at == std::string_view::npos)
    return refuse({Fault::bad_input, "no place; write KIND@TIME, for instance tick@1:23.4"});
  FaultPlan plan;
  if (const Outcome kind = put(word(text.substr(0, at), kinds), plan.kind); !kind)
    return refuse(kind.error());
  std::string_view rest = text.substr(at + 1);
  for (bool first = true;; first = false) {
    const auto comma = rest.find(',');
    const std::string_view part = rest.substr(0, comma);
    if (const Outcome read = first ? read_place(part, plan) : read_key(part, plan); !read)
      return refuse(read.error());
    if (comma == std::string_view::npos) return plan;
    rest.remove_prefix(comma + 1);
  }
}

}  // namespace goodside::cli
