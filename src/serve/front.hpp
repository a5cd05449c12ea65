#pragma once
#include <string>
#include <vector>

#include "serve/board.hpp"
#include "serve/pages.hpp"
#include "serve/router.hpp"

namespace goodside::serve {

/// Whom the server answers at all.
struct Door {
  bool secure{};                   ///< over TLS
  std::vector<std::string> hosts;  ///< names it is called by; empty: any
};

/// What stands before every route: the host's name, the session, the role, the CSRF token, the ETag,
/// and whatever goes wrong behind, told in one sentence.
class Front {
 public:
  Front(Board& board, Router router, Pages pages, Door door);

  /// Never throws. `asked.read_body` is set where the request has a body.
  [[nodiscard]] Answer answer(Asked& asked) const;

 private:
  [[nodiscard]] Answer of_api(Asked& asked) const;
  [[nodiscard]] Answer with_tag(Asked& asked, const Route& route) const;
  void let_in(Asked& asked, const Route& route) const;
  void check_host(const Asked& asked) const;

  Board& board_;
  Router router_;
  Pages pages_;
  Door door_;
};

}  // namespace goodside::serve
