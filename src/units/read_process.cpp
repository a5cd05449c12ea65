#include "units/read_process.hpp"

#include <fmt/format.h>

#include <cmath>
#include <span>
#include <string>

#include "units/number.hpp"

namespace goodside::units {
namespace {

struct Spelling {
  std::string_view text;
  double si;
};

struct Kind {
  std::string_view noun, expected, example;
  std::span<const Spelling> spellings;
  double low, high;
};

constexpr double gravity = 9.80665, pound_kg = 0.45359237;  // exact [SP811]

Result<double> read(std::string_view text, const Kind& kind) {
  const auto refuse = [&](Fault fault, std::string_view what) {
    std::string shown{text.substr(0, 40)};
    for (char& letter : shown)
      if (static_cast<unsigned char>(letter) < 0x20 || letter == 0x7f) letter = '?';
    return Error{fault,
                 fmt::format("\"{}\" is no {}{}: give {}, such as {}",
                             shown,
                             kind.noun,
                             what,
                             kind.expected,
                             kind.example)};
  };
  const auto given = leading_number(trimmed(text));
  if (!given || !std::isfinite(given->value)) return refuse(Fault::bad_input, "");
  for (const Spelling& one : kind.spellings) {
    if (one.text != given->rest) continue;
    const double si = given->value * one.si;
    if (si >= kind.low && si <= kind.high) return si;
    return refuse(Fault::out_of_range, " that can be meant");
  }
  return refuse(Fault::bad_input, "");
}

constexpr Spelling forces[] = {{"N", 1.0},
                               {"kN", 1e3},
                               {"MN", 1e6},
                               {"t", 1e3 * gravity},
                               {"lbf", pound_kg* gravity},
                               {"tonf", 2e3 * pound_kg* gravity}};
constexpr Spelling speeds[] = {{"m/s", 1.0}, {"mm/s", 1e-3}, {"in/s", 0.0254}};
constexpr Spelling flows[] = {{"kg/s", 1.0},
                              {"kg/min", 1.0 / 60.0},
                              {"kg/h", 1.0 / 3600.0},
                              {"l/s", 1.0},
                              {"l/min", 1.0 / 60.0},
                              {"l/h", 1.0 / 3600.0}};
constexpr Spelling differences[] = {{"K", 1.0}, {"°C", 1.0}, {"C", 1.0}};
constexpr Spelling bare[] = {{"", 1.0}};

}  // namespace

Result<double> force_N(std::string_view text) {
  return read(text,
              {"force", "a number with kN, N, MN, t, lbf or tonf", "1000 kN", forces, 0.0, 1e9});
}
Result<double> speed_m_per_s(std::string_view text) {
  return read(text, {"speed", "a number with mm/s, m/s or in/s", "20 mm/s", speeds, 0.0, 1e3});
}
Result<double> water_flow_kg_per_s(std::string_view text) {
  return read(text, {"flow", "a number with kg/s, kg/h or l/min", "2.5 kg/s", flows, 0.0, 1e6});
}
Result<double> temperature_difference_K(std::string_view text) {
  return read(text,
              {"difference of temperature", "a number with K", "3 K", differences, -1e3, 1e3});
}
Result<double> number(std::string_view text) {
  return read(text, {"number", "a number without a unit", "0.35", bare, -1e12, 1e12});
}

}  // namespace goodside::units
