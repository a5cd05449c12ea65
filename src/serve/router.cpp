#include "serve/router.hpp"

namespace goodside::serve {
namespace {

std::vector<std::string> pieces_of(std::string_view path) {
  std::vector<std::string> pieces;
  while (!path.empty()) {
    path.remove_prefix(1);
    const auto slash = std::min(path.find('/'), path.size());
    pieces.emplace_back(path.substr(0, slash));
    path.remove_prefix(slash);
  }
  return pieces;
}

bool is_named(std::string_view piece) {
  return piece.starts_with('{');
}

bool fits(const std::vector<std::string>& wanted, const std::vector<std::string>& given) {
  if (wanted.size() != given.size()) return false;
  for (std::size_t i = 0; i < wanted.size(); ++i)
    if (is_named(wanted[i]) ? given[i].empty() : wanted[i] != given[i]) return false;
  return true;
}

}  // namespace

void Router::add(Route route) {
  auto pieces = pieces_of(route.path);
  routes_.push_back({std::move(route), std::move(pieces)});
}

void Router::add(std::vector<Route> routes) {
  for (Route& route : routes) add(std::move(route));
}

const Route* Router::find(Asked& asked, bool& known) const {
  known = false;
  if (!asked.path.starts_with('/')) return nullptr;
  const auto given = pieces_of(asked.path);
  const std::string_view method = asked.method == "HEAD" ? "GET" : std::string_view{asked.method};
  for (const Kept& kept : routes_) {
    if (!fits(kept.pieces, given)) continue;
    known = true;
    if (kept.route.method != method) continue;
    for (std::size_t i = 0; i < given.size(); ++i)
      if (is_named(kept.pieces[i]))
        asked.named[kept.pieces[i].substr(1, kept.pieces[i].size() - 2)] = given[i];
    return &kept.route;
  }
  return nullptr;
}

}  // namespace goodside::serve
