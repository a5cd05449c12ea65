#include "serve/board.hpp"

namespace goodside::serve {

void Board::read(const std::function<void(ledger::Reader&)>& ask) const {
  records.read([&](ledger::Reader& reader) {
    standing.follow(reader);
    ask(reader);
  });
}

}  // namespace goodside::serve
