#include "listen/pieces.hpp"

#include <algorithm>
#include <atomic>
#include <mutex>
#include <optional>
#include <thread>
#include <vector>

namespace goodside::listen {

std::size_t workers_for(int jobs, std::size_t count) {
  constexpr std::size_t most = 4;
  const std::size_t asked =
      jobs > 0 ? static_cast<std::size_t>(jobs) : std::max(1U, std::thread::hardware_concurrency());
  return std::clamp<std::size_t>(std::min(asked, most), 1, std::max<std::size_t>(1, count));
}

Outcome run_pieces(std::size_t count,
                   int jobs,
                   const std::function<Outcome(std::size_t, std::size_t)>& work) {
  std::atomic<std::size_t> next{0};
  std::mutex lock;
  std::optional<Error> failed;
  const auto run = [&](std::size_t worker) {
    for (std::size_t piece = next++; piece < count; piece = next++) {
      {
        const std::lock_guard guard{lock};
        if (failed) return;
      }
      if (auto done = work(worker, piece); !done) {
        const std::lock_guard guard{lock};
        if (!failed) failed = done.error();
        return;
      }
    }
  };
  {
    std::vector<std::jthread> threads;
    for (std::size_t worker = 1; worker < workers_for(jobs, count); ++worker)
      threads.emplace_back(run, worker);
    run(0);
  }
  if (failed) return *failed;
  return Done{};
}

}  // namespace goodside::listen
