#include "dispatch/isrc.hpp"

#include <fmt/format.h>

namespace goodside::dispatch {
namespace {

constexpr bool is_letter(char c) {
  return c >= 'A' && c <= 'Z';
}
constexpr bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

}  // namespace

Result<std::string> read_isrc(std::string_view typed) {
  std::string code;
  for (const char letter : typed)
    if (letter != '-' && letter != ' ')
      code += letter >= 'a' && letter <= 'z' ? static_cast<char>(letter - 'a' + 'A') : letter;
  if (code.size() == 16 && code.starts_with("ISRC")) code.erase(0, 4);
  const auto wrong = [&](std::string_view why) {
    return Error{
        Fault::bad_input,
        fmt::format(
            "\"{}\" is no ISRC: {}; one looks like AA-6Q7-20-00047", typed.substr(0, 40), why)};
  };
  if (code.size() != 12)
    return wrong(fmt::format("it has {} letters and digits, not 12", code.size()));
  for (std::size_t i = 0; i < code.size(); ++i) {
    const bool letter_fits = i < 5, digit_fits = i >= 2;
    if ((letter_fits && is_letter(code[i])) || (digit_fits && is_digit(code[i]))) continue;
    return wrong(i < 2   ? "it begins with two letters"
                 : i < 5 ? "the registrant is three letters or digits"
                         : "the last seven are digits");
  }
  return code;
}

std::string shown_isrc(const std::string& isrc) {
  return isrc.size() != 12 ? isrc
                           : fmt::format("{}-{}-{}-{}",
                                         isrc.substr(0, 2),
                                         isrc.substr(2, 3),
                                         isrc.substr(5, 2),
                                         isrc.substr(7));
}

}  // namespace goodside::dispatch
