#include "works/code.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "base/expects.hpp"
#include "base/sha256.hpp"

namespace goodside::works {
namespace {

constexpr std::string_view alphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
constexpr std::size_t longest_pattern = 24, longest_code = 40;

char capital(char letter) {
  return letter >= 'a' && letter <= 'z' ? static_cast<char>(letter - 'a' + 'A') : letter;
}

std::size_t value_of(char letter) {
  return alphabet.find(capital(letter));
}

}  // namespace

char check_character(std::string_view text) {
  // ISO/IEC 7064, hybrid system: P = M; for each character S = (P + a) mod M, or M where that is 0;
  // P = 2 S mod (M + 1). The check character makes the last S equal to 1.
  constexpr std::size_t modulus = 36;
  std::size_t product = modulus;
  for (const char letter : text) {
    const std::size_t value = value_of(letter);
    if (value == std::string_view::npos) continue;
    std::size_t sum = (product + value) % modulus;
    if (sum == 0) sum = modulus;
    product = 2 * sum % (modulus + 1);
  }
  return alphabet[(modulus + 1 - product) % modulus];
}

bool checks(std::string_view code) {
  return !code.empty() && value_of(code.back()) != std::string_view::npos &&
         check_character(code.substr(0, code.size() - 1)) == capital(code.back());
}

Result<CodePattern> CodePattern::parse(std::string_view pattern) {
  const auto first = pattern.find('#'), last = pattern.rfind('#');
  const bool one_run =
      first != std::string_view::npos &&
      pattern.substr(first, last - first + 1).find_first_not_of('#') == std::string_view::npos;
  const bool one_check =
      !pattern.empty() && pattern.back() == '?' && pattern.find('?') == pattern.size() - 1;
  const bool plain = std::all_of(pattern.begin(), pattern.end(), [](char letter) {
    return std::string_view{"-./_#?"}.find(letter) != std::string_view::npos ||
           alphabet.find(letter) != std::string_view::npos;
  });
  if (one_run && one_check && plain && pattern.size() <= longest_pattern)
    return CodePattern{std::string{pattern}};
  return Error{Fault::bad_input,
               fmt::format("\"{}\" is no pattern for codes; write one run of # for the number and "
                           "a ? at the end for the check character, capitals, digits and - . / _ "
                           "otherwise, at most {} characters, such as ST-#####-?",
                           pattern.substr(0, longest_code),
                           longest_pattern)};
}

std::string CodePattern::write(std::int64_t number) const {
  EXPECTS(number >= 1);
  const auto first = pattern_.find('#'), last = pattern_.rfind('#');
  std::string code = pattern_.substr(0, first) + fmt::format("{:0{}}", number, last - first + 1) +
                     pattern_.substr(last + 1);
  code.pop_back();
  return code + check_character(code);
}

Result<std::string> read_code(std::string_view typed) {
  while (!typed.empty() && typed.front() == ' ') typed.remove_prefix(1);
  while (!typed.empty() && typed.back() == ' ') typed.remove_suffix(1);
  std::string code{typed.substr(0, longest_code)};
  std::transform(code.begin(), code.end(), code.begin(), capital);
  const bool plain = std::all_of(code.begin(), code.end(), [](unsigned char letter) {
    return letter > 0x20 && letter < 0x7f;
  });
  if (plain && typed.size() <= longest_code && checks(code)) return code;
  if (!plain || code.size() < 2 || typed.size() > longest_code)
    return Error{Fault::bad_input, "that is no code of this works; scan it or type it again"};
  return Error{Fault::bad_input,
               fmt::format("{}: the last character does not fit the others, which would end in {}; "
                           "a character was misread: look at the thing again",
                           code,
                           check_character(std::string_view{code}.substr(0, code.size() - 1)))};
}

std::string time_ordered_id(std::int64_t utc_ms, std::string_view code, std::string_view salt) {
  Sha256 hash;
  hash.take(code);
  hash.take("\n");
  hash.take(salt);
  constexpr std::uint64_t forty_eight_bits = 0xffff'ffff'ffffULL;
  return fmt::format("{:012x}", static_cast<std::uint64_t>(utc_ms) & forty_eight_bits) +
         hexadecimal(hash.finish()).substr(0, 20);
}

}  // namespace goodside::works
