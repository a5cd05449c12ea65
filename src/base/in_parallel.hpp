#pragma once
#include <algorithm>
#include <atomic>
#include <cstddef>
#include <thread>
#include <vector>

namespace goodside {

/// work(0) … work(count - 1) on up to `jobs` threads (0: one a core). Which thread takes which is
/// left to chance: each writes a slot of its own. `work` must not throw.
template <class Work>
void in_parallel(std::size_t count, int jobs, const Work& work) {
  const std::size_t asked =
      jobs > 0 ? static_cast<std::size_t>(jobs) : std::max(1U, std::thread::hardware_concurrency());
  std::atomic<std::size_t> next{0};
  const auto run = [&] {
    for (std::size_t i = next++; i < count; i = next++) work(i);
  };
  std::vector<std::jthread> threads;
  for (std::size_t t = 1; t < std::min(asked, count); ++t) threads.emplace_back(run);
  run();
}

}  // namespace goodside
