#include "dispatch/pallet_pattern.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

namespace goodside::dispatch {
namespace {

// In tenths of a millimetre, so that sums of sizes are exact.
using Length = std::int64_t;
constexpr double per_m = 1e4;
constexpr std::size_t most_steps = 40;

struct Size {
  Length x{}, y{};
};
struct Block {
  Size corner, size;
};

/// All cartons one way, the better of the two ways.
struct Filled {
  std::int64_t count{};
  bool turned{};
};
Filled fill(const Size& room, const Size& carton) {
  if (room.x <= 0 || room.y <= 0) return {};
  const std::int64_t straight = (room.x / carton.x) * (room.y / carton.y);
  const std::int64_t turned = (room.x / carton.y) * (room.y / carton.x);
  return turned > straight ? Filled{turned, true} : Filled{straight, false};
}

/// Sums i·a + j·b up to `room`: the only places where a block need end.
std::vector<Length> steps(Length room, const Size& carton) {
  std::vector<Length> sums;
  for (Length a = 0; a <= room; a += carton.x)
    for (Length b = a; b <= room; b += carton.y) sums.push_back(b);
  sums.push_back(room);
  std::ranges::sort(sums);
  sums.erase(std::unique(sums.begin(), sums.end()), sums.end());
  if (sums.size() <= most_steps) return sums;
  // Very small cartons: every pattern is nearly full, so a sparser choice costs little.
  std::vector<Length> some;
  for (std::size_t i = 0; i < most_steps; ++i)
    some.push_back(sums[i * (sums.size() - 1) / (most_steps - 1)]);
  return some;
}

using Blocks = std::array<Block, 5>;
Blocks five(const Size& floor, Length x1, Length x2, Length y1, Length y2) {
  return {{{{0, 0}, {x1, y2}},
           {{x1, 0}, {floor.x - x1, y1}},
           {{x2, y1}, {floor.x - x2, floor.y - y1}},
           {{0, y2}, {x2, floor.y - y2}},
           {{x1, y1}, {x2 - x1, y2 - y1}}}};
}

void place(const Block& block, const Size& carton, std::vector<CartonPlace>& places) {
  const Filled filled = fill(block.size, carton);
  if (filled.count == 0) return;
  const Size one = filled.turned ? Size{carton.y, carton.x} : carton;
  for (Length y = 0; y + one.y <= block.size.y; y += one.y)
    for (Length x = 0; x + one.x <= block.size.x; x += one.x)
      places.push_back({static_cast<double>(block.corner.x + x) / per_m,
                        static_cast<double>(block.corner.y + y) / per_m,
                        filled.turned});
}

}  // namespace

Result<std::vector<CartonPlace>> pallet_pattern(const Footprint& pallet, const Footprint& carton) {
  for (const double size : {pallet.length_m, pallet.width_m, carton.length_m, carton.width_m})
    if (!std::isfinite(size) || size < 0.005 || size > 20.0)
      return Error{
          Fault::out_of_range,
          fmt::format("a side of {:.4g} m is no side of a carton or pallet; give 5 mm to 20 m",
                      size)};
  // A pallet's floor is not widened by rounding, nor a carton made smaller.
  const Size floor{static_cast<Length>(std::floor(pallet.length_m * per_m + 1e-6)),
                   static_cast<Length>(std::floor(pallet.width_m * per_m + 1e-6))};
  const Size box{static_cast<Length>(std::ceil(carton.length_m * per_m - 1e-6)),
                 static_cast<Length>(std::ceil(carton.width_m * per_m - 1e-6))};
  const auto xs = steps(floor.x, box), ys = steps(floor.y, box);
  std::int64_t best = -1;
  Blocks chosen{};
  for (std::size_t i = 0; i < xs.size(); ++i)
    for (std::size_t j = i; j < xs.size(); ++j)
      for (std::size_t k = 0; k < ys.size(); ++k)
        for (std::size_t l = k; l < ys.size(); ++l) {
          const Blocks blocks = five(floor, xs[i], xs[j], ys[k], ys[l]);
          std::int64_t count = 0;
          for (const Block& block : blocks) count += fill(block.size, box).count;
          if (count <= best) continue;
          best = count;
          chosen = blocks;
        }
  std::vector<CartonPlace> places;
  for (const Block& block : chosen) place(block, box, places);
  return places;
}

}  // namespace goodside::dispatch
