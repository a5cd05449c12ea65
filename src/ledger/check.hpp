#pragma once
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "ledger/event.hpp"

namespace goodside::ledger {

struct CheckOptions {
  std::optional<Head> known_head;          ///< as printed on a paper or kept with a backup
  std::optional<std::int64_t> since_ms;    ///< only entries from then on, and the runs they touch
  std::size_t most_breaks{20};             ///< told one by one
  std::function<void(double)> progress{};  ///< share done
};

struct Checked {
  Head head;
  std::int64_t entries{}, rows{}, movements{}, runs{}, impressions{};
  /// Discs by place, over the runs looked at.
  std::vector<std::pair<std::string, std::int64_t>> places;
  std::vector<std::string> breaks;  ///< a sentence each; the first `most_breaks`
  std::int64_t more_breaks{};
  [[nodiscard]] bool closes() const { return breaks.empty(); }
};

/// Proves the record against its own log:
/// - each entry's hash fits its content and the entry before; a known head is still there;
/// - every row is exactly what the log's entries made of it, and no row is missing or added;
/// - each run's stock is what its movements make of the impressions pressed: the sum over all places
///   equals the impressions made, and no interval holds more discs than impressions.
/// Memory: about 100 bytes a row that is not a movement. Throws StoreFailure.
[[nodiscard]] Checked check(Connection&, const CheckOptions&);

}  // namespace goodside::ledger
