#include "serve/throttle.hpp"

#include <algorithm>

namespace goodside::serve {
namespace {

constexpr std::size_t most_keys = 1000;

}  // namespace

std::int64_t Throttle::take(const std::string& key, std::int64_t now_ms) {
  const std::lock_guard lock{guard_};
  std::int64_t& full_ms = full_again_ms_[key];
  full_ms = std::max(full_ms, now_ms);
  if (const std::int64_t wait = full_ms + each_ms_ - now_ms - most_ * each_ms_; wait > 0)
    return wait;
  full_ms += each_ms_;
  if (full_again_ms_.size() <= most_keys) return 0;
  std::erase_if(full_again_ms_, [&](const auto& one) { return one.second <= now_ms; });
  if (full_again_ms_.size() > most_keys)
    full_again_ms_.erase(
        std::ranges::min_element(full_again_ms_, {}, [](const auto& one) { return one.second; }));
  return 0;
}

void Throttle::give_back(const std::string& key) {
  const std::lock_guard lock{guard_};
  const auto found = full_again_ms_.find(key);
  if (found != full_again_ms_.end()) found->second -= each_ms_;
}

}  // namespace goodside::serve
