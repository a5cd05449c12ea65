#include "units/print.hpp"

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <string_view>

#include "base/expects.hpp"

namespace goodside::units {
namespace {

std::string with_unit(std::string_view number, const Unit& unit) {
  std::string shown{number};
  if (!unit.symbol.empty()) shown.append(" ").append(unit.symbol);
  return shown;
}

}  // namespace

std::string print(double si, const Unit& unit) {
  EXPECTS(std::isfinite(si));
  const double shown = from_si(si, unit);
  EXPECTS(std::isfinite(shown));
  std::array<char, 32> buffer{};
  std::string_view number;
  // Fifteen digits hide the rounding of the conversion; seventeen are only needed where they tell
  // values apart.
  for (int digits = 15; digits <= 17; ++digits) {
    char* const first = buffer.data();
    const auto end =
        std::to_chars(first, first + buffer.size(), shown, std::chars_format::general, digits).ptr;
    number = {first, static_cast<std::size_t>(end - first)};
    double again = 0.0;
    std::from_chars(first, end, again);
    const double read = to_si(again, unit);
    if (read == si || read == to_si(shown, unit)) break;
  }
  return with_unit(number, unit);
}

std::string print(double si, const Unit& unit, int decimals) {
  EXPECTS(std::isfinite(si) && decimals >= 0 && decimals <= 9);
  const std::string number = fmt::format("{:.{}f}", from_si(si, unit), decimals);
  const bool minus_nothing =
      number.front() == '-' && number.find_first_of("123456789") == std::string::npos;
  return with_unit(minus_nothing ? std::string_view{number}.substr(1) : number, unit);
}

std::string print_clock(double time_s, int decimals) {
  EXPECTS(std::abs(time_s) < 1e12 && decimals >= 0 && decimals <= 6);
  std::int64_t ticks_per_s = 1;
  for (int i = 0; i < decimals; ++i) ticks_per_s *= 10;
  // Rounded once and first, so that 59.96 s becomes 1:00.0 and never 0:60.0.
  const std::int64_t ticks = std::llround(std::abs(time_s) * static_cast<double>(ticks_per_s));
  const std::int64_t whole_s = ticks / ticks_per_s;
  const std::int64_t hours = whole_s / 3600, minutes = whole_s / 60 % 60, seconds = whole_s % 60;

  std::string clock = time_s < 0.0 && ticks > 0 ? "-" : "";
  clock += hours > 0 ? fmt::format("{}:{:02}:{:02}", hours, minutes, seconds)
                     : fmt::format("{}:{:02}", minutes, seconds);
  if (decimals > 0) clock += fmt::format(".{:0{}}", ticks % ticks_per_s, decimals);
  return clock;
}

}  // namespace goodside::units
