#pragma once
#include <condition_variable>
#include <functional>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "ledger/record.hpp"
#include "line/desk.hpp"
#include "serve/asked.hpp"

namespace goodside::serve {

/// A few connections to one record, each lent to one thread at a time. They are opened as they are
/// wanted; who finds all lent waits up to some seconds. Everything throws Stop.
class Records {
 public:
  explicit Records(std::string store) : store_{std::move(store)} {}

  /// Questions on one unchanging state.
  void read(const std::function<void(ledger::Reader&)>& ask);
  /// A job of `line` at a desk where `who` stands.
  void at_desk(const std::string& who, const std::function<void(const line::Desk&)>& act);
  [[nodiscard]] ledger::Head head();

 private:
  class Lent;
  std::string store_;
  std::mutex guard_;
  std::condition_variable returned_;
  std::vector<std::unique_ptr<ledger::Record>> free_;
  int opened_{};
};

[[nodiscard]] std::int64_t now_ms();

}  // namespace goodside::serve
