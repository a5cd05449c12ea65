#include "draw/trace_words.hpp"

#include <fmt/format.h>

#include <cstdint>

#include "draw/words.hpp"

namespace goodside::draw {
namespace {

/// "1st", "12th", "23rd".
std::string ordinal(std::int64_t n) {
  const auto last = n % 10;
  const bool teen = n % 100 / 10 == 1;
  return fmt::format("{}{}",
                     n,
                     teen || last > 3 || last == 0 ? "th"
                     : last == 1                   ? "st"
                     : last == 2                   ? "nd"
                                                   : "rd");
}

}  // namespace

std::string_view word(works::CauseLevel level) {
  switch (level) {
    case works::CauseLevel::cut:
      return "cut";
    case works::CauseLevel::father:
      return "father";
    case works::CauseLevel::mother:
      return "mother";
    case works::CauseLevel::stamper:
      return "stamper";
    case works::CauseLevel::mounting:
      return "mounting";
    case works::CauseLevel::press:
      return "press";
    case works::CauseLevel::batch:
      return "batch";
    case works::CauseLevel::disc:
      return "each disc alone";
    case works::CauseLevel::dust:
      break;
  }
  return "dust";
}

std::string named(const works::Cause& cause) {
  std::string text{word(cause.level)};
  return cause.id.empty() ? text : text.append(" ").append(cause.id);
}

std::string percent(double share) {
  if (share > 0.99) return "> 99 %";
  return share < 0.01 ? "< 1 %" : fmt::format("{:.0f} %", 100.0 * share);
}

std::string since(const works::Cause& cause) {
  std::string text;
  if (cause.since_birth > 0.5) text = "since its birth";
  if (cause.onset) {
    const auto& onset = *cause.onset;
    if (text.empty()) text = fmt::format("since impression {}", onset.best);
    if (onset.low != onset.high) text += fmt::format(" (90 %: {} to {})", onset.low, onset.high);
  }
  if (cause.onset_grown && cause.since_birth <= 0.5)
    text += fmt::format(", from the {} that it grew", ordinal(cause.onset_grown->best));
  if (cause.end && cause.end->probability > 0.5)
    text += fmt::format(", gone from {} on", cause.end->first_without.best);
  return text;
}

std::string fault_name(const works::RecurringFault& fault) {
  std::string kind{fault.pattern ? word(*fault.pattern) : word(fault.kind)};
  kind.front() = static_cast<char>(kind.front() - 'a' + 'A');
  return fmt::format("{} at {}, side {}",
                     kind,
                     clock_tenths(fault.programme_s),
                     fault.side == works::DiscSide::A ? "A" : "B");
}

}  // namespace goodside::draw
