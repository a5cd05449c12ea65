#pragma once
#include <cstdint>
#include <map>
#include <memory>
#include <mutex>
#include <span>
#include <vector>

#include "base/result.hpp"
#include "listen/piece_reader.hpp"

namespace goodside::listen {

/// The cut at the echo's rate, mean of both channels, for workers whose pieces each ask for turns before and after: a
/// stretch is thinned once, by whichever worker asks first, and the last two dozen are kept. Stretches lie on one grid,
/// so that it does not matter who made them.
class EchoCut {
 public:
  /// Fills `out` from thinned sample `first` on, by a worker's own reader where it must be thinned first.
  Outcome read(PieceReader& reader, std::int64_t first, std::span<float> out);

 private:
  struct Kept {
    std::shared_ptr<const std::vector<float>> samples;
    std::uint64_t asked{};  // the last time, in askings
  };
  Result<std::shared_ptr<const std::vector<float>>> stretch(PieceReader& reader, std::int64_t k);

  std::mutex lock_;
  std::map<std::int64_t, Kept> kept_;
  std::uint64_t askings_{};
};

}  // namespace goodside::listen
