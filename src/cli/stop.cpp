#include "cli/stop.hpp"

#include <atomic>
#include <csignal>

namespace goodside::cli {
namespace {

// The one place a signal handler can reach.
std::atomic<bool> stop_asked{false};  // NOLINT(cppcoreguidelines-avoid-non-const-global-variables)
static_assert(std::atomic<bool>::is_always_lock_free);

void note_stop(int which) {
  stop_asked.store(true);
  std::signal(which, SIG_DFL);
}

}  // namespace

StopWatch::StopWatch() {
  stop_asked.store(false);
  std::signal(SIGINT, note_stop);
  std::signal(SIGTERM, note_stop);
}

StopWatch::~StopWatch() {
  std::signal(SIGINT, SIG_DFL);
  std::signal(SIGTERM, SIG_DFL);
}

bool StopWatch::asked() {
  return stop_asked.load();
}

}  // namespace goodside::cli
