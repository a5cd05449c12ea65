#include "serve/session.hpp"

#include <algorithm>
#include <array>
#include <utility>

namespace goodside::serve {
namespace {

constexpr std::array<std::pair<Role, std::string_view>, 5> words{{{Role::viewer, "viewer"},
                                                                  {Role::listener, "listener"},
                                                                  {Role::station, "station"},
                                                                  {Role::engineer, "engineer"},
                                                                  {Role::clerk, "clerk"}}};

}  // namespace

std::string_view word(Role role) {
  return words.at(static_cast<std::size_t>(role)).second;
}

std::optional<Role> read_role(std::string_view word) {
  for (const auto& [role, known] : words)
    if (known == word) return role;
  return std::nullopt;
}

bool Session::may(const std::vector<Role>& any_of) const {
  return any_of.empty() || std::ranges::any_of(roles, [&](Role role) {
           return std::ranges::find(any_of, role) != any_of.end();
         });
}

std::string session_cookie(bool secure) {
  // The prefix makes a browser insist on Secure and Path=/.
  return secure ? "__Host-goodside" : "goodside";
}

}  // namespace goodside::serve
