#pragma once
#include <optional>
#include <string>
#include <string_view>

namespace goodside::serve {

/// Argon2id [RFC 9106] with the library's interactive setting: 64 MiB and some 0.2 s each. The
/// text holds its own parameters and salt. Nothing where memory ran out.
[[nodiscard]] std::optional<std::string> keep_password(const std::string& password);
[[nodiscard]] bool is_password(const std::string& kept, const std::string& password);

/// 32 bytes of the system's randomness as 64 hexadecimal digits.
[[nodiscard]] std::string random_token();
/// Takes as long wherever they differ.
[[nodiscard]] bool same_secret(std::string_view a, std::string_view b);

}  // namespace goodside::serve
