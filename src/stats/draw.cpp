#include "stats/draw.hpp"

#include <cmath>
#include <numbers>

namespace goodside::stats {
namespace {

std::uint64_t mixed(std::uint64_t z) {
  z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9ULL;
  z = (z ^ (z >> 27U)) * 0x94D049BB133111EBULL;
  return z ^ (z >> 31U);
}

constexpr std::uint64_t golden = 0x9E3779B97F4A7C15ULL;

}  // namespace

Draw::Draw(std::uint64_t seed, std::uint64_t stream)
    : state_{mixed(mixed(seed + golden) + stream * golden)} {}

std::uint64_t Draw::bits() {
  return mixed(state_ += golden);
}

double Draw::uniform() {
  return (static_cast<double>(bits() >> 11U) + 0.5) * 0x1p-53;
}

double Draw::between(double low, double high) {
  return low + (high - low) * uniform();
}

double Draw::normal() {
  if (has_spare_) {
    has_spare_ = false;
    return spare_;
  }
  const double radius = std::sqrt(-2.0 * std::log(uniform()));
  const double angle = 2.0 * std::numbers::pi * uniform();
  spare_ = radius * std::sin(angle);
  has_spare_ = true;
  return radius * std::cos(angle);
}

std::uint64_t Draw::whole(std::uint64_t below) {
  return bits() % below;
}

double Draw::exponential() {
  return -std::log(uniform());
}

}  // namespace goodside::stats
