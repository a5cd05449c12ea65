#pragma once
#include <cstdint>

namespace goodside::stats {

/// A stream of random draws that a seed and a stream number fix for good, on every machine.
/// Generator: SplitMix64 (Steele, Lea and Flood, OOPSLA 2014); normal draws by Box and Muller
/// (1958).
class Draw {
 public:
  explicit Draw(std::uint64_t seed, std::uint64_t stream = 0);

  std::uint64_t bits();
  double uniform();                          ///< in (0, 1)
  double between(double low, double high);   ///< uniform
  double normal();                           ///< mean 0, variance 1
  double exponential();                      ///< mean 1
  std::uint64_t whole(std::uint64_t below);  ///< 0 … below - 1; below > 0

 private:
  std::uint64_t state_;
  double spare_{};
  bool has_spare_{};
};

}  // namespace goodside::stats
