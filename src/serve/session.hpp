#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace goodside::serve {

/// What an account may do. Everybody reads; a listener judges and uploads, a station uploads and
/// holds, an engineer does all and keeps the accounts, a clerk enters papers.
enum class Role { viewer, listener, station, engineer, clerk };

[[nodiscard]] std::string_view word(Role role);
[[nodiscard]] std::optional<Role> read_role(std::string_view word);

/// Somebody who signed in.
struct Session {
  std::string name{};  ///< empty: nobody
  std::vector<Role> roles{};
  std::string csrf{};
  std::int64_t expires_ms{};
  [[nodiscard]] bool signed_in() const { return !name.empty(); }
  /// Whether one of the roles is among these; an empty list lets everybody.
  [[nodiscard]] bool may(const std::vector<Role>& any_of) const;
};

/// The cookie that carries a session's token.
[[nodiscard]] std::string session_cookie(bool secure);

}  // namespace goodside::serve
