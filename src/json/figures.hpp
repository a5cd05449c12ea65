#pragma once
#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "base/expects.hpp"
#include "json/report_words.hpp"

namespace goodside::json {

// How a contract's numbers and words are written, where null is allowed for what is not known.

/// Whole steps of 1/steps; "+ 0.0" turns -0 into 0: equal contents must not differ in a sign that
/// means nothing.
inline double rounded(double value, double steps) {
  EXPECTS(std::isfinite(value));
  return std::nearbyint(value * steps) / steps + 0.0;
}

/// Null where it is not finite.
inline nlohmann::ordered_json figure(double value, double steps) {
  if (!std::isfinite(value)) return nullptr;
  return rounded(value, steps);
}

inline nlohmann::ordered_json figure(const std::optional<double>& value, double steps) {
  return value ? figure(*value, steps) : nlohmann::ordered_json(nullptr);
}

/// Ten digits of a figure of any size; null where it is not finite.
inline nlohmann::ordered_json ten_digits(double value) {
  if (!std::isfinite(value)) return nullptr;
  if (value == 0.0) return 0.0;
  const double steps = std::pow(10.0, 9.0 - std::floor(std::log10(std::abs(value))));
  return std::isfinite(steps) ? rounded(value, steps) : value;
}

inline nlohmann::ordered_json ten_digits(const std::optional<double>& value) {
  return value ? ten_digits(*value) : nlohmann::ordered_json(nullptr);
}

template <class Enum, std::size_t n>
std::string word(Enum value, const Words<Enum, n>& words) {
  for (const auto& [meaning, text] : words)
    if (meaning == value) return std::string{text};
  EXPECTS(false && "an enumerator without a word");
  return {};
}

}  // namespace goodside::json
