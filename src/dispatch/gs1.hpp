#pragma once
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"

namespace goodside::dispatch {

// Numbers of GS1's open standards. Source: GS1 General Specifications, section 7.9 (check digit) and the
// application identifiers of section 3 [GS1].

/// The check digit of a GTIN, SSCC and every other fixed-length GS1 number: digits weigh 3, 1, 3, 1 … from
/// the right, and the check digit brings the sum to a multiple of ten. `digits` without the check digit.
/// Finds every single wrong digit and each swap of neighbours that do not differ by 5.
/// Errors: Fault::bad_input unless all are digits, 1 to 30 of them.
Result<char> gs1_check_digit(std::string_view digits);

/// A GTIN-8, -12 (UPC-A), -13 (EAN) or -14 with a right check digit; spaces and dashes are left out.
/// Errors: Fault::bad_input, with the digit that would fit.
Result<std::string> read_gtin(std::string_view typed);
/// The same in 14 digits, noughts in front, as element strings need it.
[[nodiscard]] std::string gtin_14(const std::string& gtin);

/// A company prefix is 4 to 12 digits. Errors: Fault::bad_input.
Result<std::string> read_company_prefix(std::string_view typed);

/// Serial shipping container code: extension digit, company prefix, serial reference, check digit; 18 digits.
/// The extension has no meaning of its own and carries the first digit of the serial here, so that a prefix
/// of n digits gives 10^(17-n) numbers. Errors: Fault::out_of_range when the numbers of the prefix are used up.
Result<std::string> make_sscc(const std::string& company_prefix, std::int64_t serial);
/// 18 digits with a right check digit, with or without (00) before them; or what a scanner sends of a whole label: a symbology
/// identifier (]C1, ]d2), then the elements 00, 01, 02 and 37, one that ends early ended by the character GS. Source: GS1
/// General Specifications, sections 3 and 7.8 [GS1]. Errors: Fault::bad_input.
Result<std::string> read_sscc(std::string_view typed);

/// One element of a GS1 symbol: application identifier and data.
struct Element {
  std::string identifier, data;
};
/// `(00)106141412345678908`: as it is printed under the bars.
[[nodiscard]] std::string element_text(const std::vector<Element>& elements);

}  // namespace goodside::dispatch
