#pragma once
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "serve/asked.hpp"

namespace goodside::serve {

/// One route of the API. `path` names its parts in braces: /api/parts/{code}.
struct Route {
  std::string method, path;
  std::vector<Role> roles{};  ///< any of them; empty: every account
  bool open{};                ///< needs no account
  bool streams{};             ///< takes its body in pieces
  bool own_tag{};             ///< its answer carries an ETag by its own content, or none
  bool with_jobs{};           ///< it tells of jobs too, so its ETag counts them
  std::function<Answer(Asked&)> run{};
};

class Router {
 public:
  void add(Route route);
  void add(std::vector<Route> routes);

  /// The route, its parts filled into `asked.named`; nothing where there is none. `known`: some
  /// route has this path under another method.
  [[nodiscard]] const Route* find(Asked& asked, bool& known) const;

 private:
  struct Kept {
    Route route;
    std::vector<std::string> pieces;
  };
  std::vector<Kept> routes_;
};

}  // namespace goodside::serve
