#include "cli/progress_bar.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <ostream>

#include "cli/wrap.hpp"

namespace goodside::cli {
namespace {

constexpr std::size_t bar_width = 30;

}  // namespace

std::string progress_line(double share, const std::string& what) {
  const double done = std::clamp(share, 0.0, 1.0);
  const auto filled = static_cast<std::size_t>(std::floor(done * bar_width));
  return clipped(fmt::format("{:4.0f} %  [{}{}]  {}",
                             std::floor(done * 100.0),
                             std::string(filled, '#'),
                             std::string(bar_width - filled, '.'),
                             what),
                 line_width - 1);
}

ProgressBar::ProgressBar(std::ostream& err, Shown shown, std::string what)
    : err_{err}, shown_{shown}, what_{std::move(what)} {}

ProgressBar::~ProgressBar() {
  if (drawn_) err_ << '\r' << std::string(line_width - 1, ' ') << '\r' << std::flush;
}

void ProgressBar::show(double share) {
  if (shown_ == Shown::nothing) return;
  const std::lock_guard lock{guard_};
  const auto now = Clock::now();
  if (shown_ == Shown::lines) {
    if (now - last_ < std::chrono::milliseconds{200}) return;
    last_ = now;
    err_ << fmt::format("progress {:.3f}\n", std::clamp(share, 0.0, 1.0)) << std::flush;
    return;
  }
  if (now - begun_ < std::chrono::seconds{1} || now - last_ < std::chrono::milliseconds{100})
    return;
  last_ = now;
  drawn_ = true;
  err_ << '\r' << progress_line(share, what_) << std::flush;
}

}  // namespace goodside::cli
