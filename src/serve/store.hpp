#pragma once
#include <functional>
#include <memory>
#include <mutex>
#include <string>

#include "base/result.hpp"
#include "ledger/connection.hpp"

namespace goodside::serve {

/// What the server keeps beside the record, in the works folder's serve/serve.db: accounts,
/// sessions, uploads and jobs. Secrets stand here and never in the record, which is exported.
/// Every change is on the disk before it is acknowledged. From any thread.
class Store {
 public:
  /// Errors: those of ledger::connect.
  static Result<std::unique_ptr<Store>> open(const std::string& path);

  /// Questions and changes as one: committed, or taken back where `act` throws.
  void in(const std::function<void(ledger::Connection&)>& act);
  std::vector<ledger::Values> ask(std::string_view sql, const ledger::Values& parameters = {});
  void run(std::string_view sql, const ledger::Values& parameters = {});

 private:
  explicit Store(std::unique_ptr<ledger::Connection> connection)
      : connection_{std::move(connection)} {}
  std::mutex guard_;
  std::unique_ptr<ledger::Connection> connection_;
};

}  // namespace goodside::serve
