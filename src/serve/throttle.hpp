#pragma once
#include <cstdint>
#include <map>
#include <mutex>
#include <string>

namespace goodside::serve {

/// Rations tries that fail, by key: `most` at once, one more every `each_ms`. Remembers at most a thousand
/// keys, the longest silent one is forgotten first. From any thread.
class Throttle {
 public:
  Throttle(int most, std::int64_t each_ms) : most_{most}, each_ms_{each_ms} {}

  /// Takes one try; where there is none, the milliseconds until there is one.
  [[nodiscard]] std::int64_t take(const std::string& key, std::int64_t now_ms);
  /// The try was no failure.
  void give_back(const std::string& key);

 private:
  int most_;
  std::int64_t each_ms_;
  std::mutex guard_;
  std::map<std::string, std::int64_t> full_again_ms_;  ///< when all tries are there again
};

}  // namespace goodside::serve
