#include "dispatch/gs1.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace goodside::dispatch {
namespace {

bool all_digits(std::string_view text) {
  return std::ranges::all_of(text, [](char letter) { return letter >= '0' && letter <= '9'; });
}

std::string without_gaps(std::string_view typed) {
  std::string digits;
  for (const char letter : typed)
    if (letter != ' ' && letter != '-') digits += letter;
  return digits;
}

/// Whether the last digit checks the others.
Outcome check(const std::string& digits, std::string_view what) {
  const auto fits = gs1_check_digit(std::string_view{digits}.substr(0, digits.size() - 1));
  if (!fits) return fits.error();
  if (digits.back() == *fits) return Done{};
  return Error{Fault::bad_input,
               fmt::format("{} {} ends in {}, and its check digit would be {}; look at the number "
                           "again",
                           what,
                           digits,
                           digits.back(),
                           *fits)};
}

/// The 18 digits of element 00 in a scanned element string; empty where there is none.
std::string element_00(std::string_view scanned) {
  constexpr char ended = '\x1d';
  if (scanned.starts_with(']') && scanned.size() > 3) scanned.remove_prefix(3);
  while (scanned.size() > 2) {
    if (scanned.front() == ended) {
      scanned.remove_prefix(1);
      continue;
    }
    const std::string_view identifier = scanned.substr(0, 2);
    scanned.remove_prefix(2);
    if (identifier == "00") return std::string{scanned.substr(0, 18)};
    if (identifier == "01" || identifier == "02")
      scanned.remove_prefix(std::min<std::size_t>(14, scanned.size()));
    else if (identifier == "37")
      scanned.remove_prefix(std::min(scanned.find(ended), scanned.size()));
    else
      break;
  }
  return {};
}

}  // namespace

Result<char> gs1_check_digit(std::string_view digits) {
  if (digits.empty() || digits.size() > 30 || !all_digits(digits))
    return Error{
        Fault::bad_input,
        fmt::format(
            "\"{}\" is no row of 1 to 30 digits, so it has no check digit; give digits only",
            digits.substr(0, 40))};
  int sum = 0;
  int weight = 3;
  for (auto digit = digits.rbegin(); digit != digits.rend(); ++digit) {
    sum += weight * (*digit - '0');
    weight = 4 - weight;
  }
  return static_cast<char>('0' + (10 - sum % 10) % 10);
}

Result<std::string> read_gtin(std::string_view typed) {
  const std::string digits = without_gaps(typed);
  const std::size_t length = digits.size();
  if (!all_digits(digits) || (length != 8 && (length < 12 || length > 14)))
    return Error{Fault::bad_input,
                 fmt::format("\"{}\" is no GTIN; one has 8, 12, 13 or 14 digits, such as "
                             "6291041500213",
                             typed.substr(0, 40))};
  if (const auto checked = check(digits, "GTIN"); !checked) return checked.error();
  return digits;
}

std::string gtin_14(const std::string& gtin) {
  return std::string(14 - std::min<std::size_t>(14, gtin.size()), '0') + gtin;
}

Result<std::string> read_company_prefix(std::string_view typed) {
  const std::string digits = without_gaps(typed);
  if (digits.size() >= 4 && digits.size() <= 12 && all_digits(digits)) return digits;
  return Error{
      Fault::bad_input,
      fmt::format("\"{}\" is no GS1 company prefix; one has 4 to 12 digits, and is got from "
                  "GS1 alone; without one leave it out, and plain numbers are used",
                  typed.substr(0, 40))};
}

Result<std::string> make_sscc(const std::string& company_prefix, std::int64_t serial) {
  const auto prefix = read_company_prefix(company_prefix);
  if (!prefix) return prefix.error();
  const std::size_t room = 17 - prefix->size();
  const std::string number = fmt::format("{:0{}}", serial, room);
  if (serial < 0 || number.size() > room)
    return Error{Fault::out_of_range,
                 fmt::format("prefix {} leaves {} digits for numbers, and {} is longer; get a "
                             "further prefix from GS1",
                             *prefix,
                             room,
                             serial)};
  const std::string payload = number.substr(0, 1) + *prefix + number.substr(1);
  const auto digit = gs1_check_digit(payload);
  if (!digit) return digit.error();
  return payload + *digit;
}

Result<std::string> read_sscc(std::string_view typed) {
  std::string digits = without_gaps(typed);
  if (const std::string scanned = element_00(typed); scanned.size() == 18) digits = scanned;
  if (digits.starts_with("(00)")) digits.erase(0, 4);
  if (digits.size() == 20 && digits.starts_with("00")) digits.erase(0, 2);
  if (digits.size() != 18 || !all_digits(digits))
    return Error{Fault::bad_input,
                 fmt::format("\"{}\" is no SSCC; one has 18 digits, such as 106141412345678908",
                             typed.substr(0, 40))};
  if (const auto checked = check(digits, "SSCC"); !checked) return checked.error();
  return digits;
}

std::string element_text(const std::vector<Element>& elements) {
  std::string text;
  for (const Element& element : elements)
    text += fmt::format("({}){}", element.identifier, element.data);
  return text;
}

}  // namespace goodside::dispatch
