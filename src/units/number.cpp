#include "units/number.hpp"

#include <array>
#include <charconv>
#include <limits>
#include <system_error>

namespace goodside::units {
namespace {

constexpr std::array<std::string_view, 5> spaces{" ", "\t", "\u00a0", "\u2009", "\u202f"};

struct Fraction {
  double above{}, below{};
};

struct Glyph {
  std::string_view text;
  Fraction fraction;
};
constexpr std::array<Glyph, 9> glyphs{{{"½", {1, 2}},
                                       {"⅓", {1, 3}},
                                       {"⅔", {2, 3}},
                                       {"¼", {1, 4}},
                                       {"¾", {3, 4}},
                                       {"⅛", {1, 8}},
                                       {"⅜", {3, 8}},
                                       {"⅝", {5, 8}},
                                       {"⅞", {7, 8}}}};

bool take(std::string_view& text, std::string_view prefix) {
  if (!text.starts_with(prefix)) return false;
  text.remove_prefix(prefix.size());
  return true;
}

bool begins_with_digit(std::string_view text) {
  return !text.empty() && text.front() >= '0' && text.front() <= '9';
}

/// A run of at most nine digits, which a double holds exactly.
std::optional<double> take_whole(std::string_view& text) {
  std::size_t count = 0;
  double value = 0.0;
  while (begins_with_digit(text.substr(count))) value = 10.0 * value + (text[count++] - '0');
  if (count == 0 || count > 9) return std::nullopt;
  text.remove_prefix(count);
  return value;
}

std::optional<Fraction> take_fraction(std::string_view& text) {
  for (const auto& glyph : glyphs)
    if (take(text, glyph.text)) return glyph.fraction;
  std::string_view ahead = text;
  const auto above = take_whole(ahead);
  if (!above || !take(ahead, "/")) return std::nullopt;
  const auto below = take_whole(ahead);
  if (!below || *below < 1.0) return std::nullopt;
  text = ahead;
  return Fraction{*above, *below};
}

/// `11 7/8`, `33⅓`, `7/8`: one division, so that it rounds once.
std::optional<double> take_mixed(std::string_view& text) {
  std::string_view ahead = text;
  if (const auto alone = take_fraction(ahead)) {
    text = ahead;
    return alone->above / alone->below;
  }
  const auto whole = take_whole(ahead);
  if (!whole) return std::nullopt;
  ahead = trimmed(ahead);
  const auto part = take_fraction(ahead);
  if (!part || part->above >= part->below) return std::nullopt;
  text = ahead;
  return (*whole * part->below + part->above) / part->below;
}

std::optional<double> take_decimal(std::string_view& text) {
  const bool point_first = text.starts_with('.') && begins_with_digit(text.substr(1));
  if (!point_first && !begins_with_digit(text)) return std::nullopt;
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error == std::errc::result_out_of_range) value = std::numeric_limits<double>::infinity();
  text.remove_prefix(static_cast<std::size_t>(end - text.data()));
  return value;
}

}  // namespace

std::string_view trimmed(std::string_view text) {
  for (bool found = true; found;) {
    found = false;
    for (const auto space : spaces) {
      if (text.starts_with(space)) {
        text.remove_prefix(space.size());
        found = true;
      }
      if (text.ends_with(space)) {
        text.remove_suffix(space.size());
        found = true;
      }
    }
  }
  return text;
}

std::optional<LeadingNumber> leading_number(std::string_view text) {
  text = trimmed(text);
  const bool negative = take(text, "-") || take(text, "−");
  if (!negative) take(text, "+");
  std::string_view rest = text;
  auto value = take_mixed(rest);
  if (!value) value = take_decimal(rest);
  if (!value) return std::nullopt;
  return LeadingNumber{.value = negative ? -*value : *value,
                       .digits = text.substr(0, text.size() - rest.size()),
                       .rest = trimmed(rest)};
}

}  // namespace goodside::units
