#include "listen/echo_cut.hpp"

#include <algorithm>

namespace goodside::listen {
namespace {

constexpr std::int64_t length = 16384;  // of a stretch: two seconds
constexpr std::size_t most_kept = 24;

}  // namespace

Outcome EchoCut::read(PieceReader& reader, std::int64_t first, std::span<float> out) {
  const std::int64_t end = first + std::ssize(out);
  for (std::int64_t at = first; at < end;) {
    const std::int64_t k = at >= 0 ? at / length : -((length - 1 - at) / length);
    const auto samples = stretch(reader, k);
    if (!samples) return samples.error();
    const std::int64_t stop = std::min(end, (k + 1) * length);
    std::copy((*samples)->begin() + (at - k * length),
              (*samples)->begin() + (stop - k * length),
              out.begin() + (at - first));
    at = stop;
  }
  return Done{};
}

Result<std::shared_ptr<const std::vector<float>>> EchoCut::stretch(PieceReader& reader,
                                                                   std::int64_t k) {
  {
    const std::lock_guard guard{lock_};
    if (const auto found = kept_.find(k); found != kept_.end()) {
      found->second.asked = ++askings_;
      return found->second.samples;
    }
  }
  auto made = std::make_shared<std::vector<float>>(length);
  if (auto read = reader.read_mean(k * length, *made); !read) return read.error();
  const std::lock_guard guard{lock_};
  if (kept_.size() >= most_kept)
    kept_.erase(
        std::ranges::min_element(kept_, {}, [](const auto& one) { return one.second.asked; }));
  kept_[k] = {made, ++askings_};
  return std::shared_ptr<const std::vector<float>>{std::move(made)};
}

}  // namespace goodside::listen
