#include "dispatch/usual_packing.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>

namespace goodside::dispatch {

Result<UsualPacking> usual_packing(double disc_diameter_m, bool shellac_type) {
  struct Row {
    double diameter_m;
    bool shellac_type;
    UsualPacking packing;
  };
  static constexpr std::array<Row, 6> rows{
      {{0.301, false, {{0.140, 0.105, 0.315, 0.0040}, 25, 0.005, 0.45}},
       {0.251, false, {{0.110, 0.070, 0.260, 0.0040}, 25, 0.005, 0.35}},
       {0.175, false, {{0.042, 0.025, 0.187, 0.0025}, 50, 0.004, 0.20}},
       {0.301, true, {{0.300, 0.045, 0.310, 0.0042}, 20, 0.006, 0.50}},
       {0.251, true, {{0.177, 0.030, 0.260, 0.0036}, 20, 0.006, 0.40}},
       {0.175, true, {{0.080, 0.020, 0.185, 0.0032}, 20, 0.005, 0.20}}}};
  for (const Row& row : rows)
    if (row.shellac_type == shellac_type && std::abs(row.diameter_m - disc_diameter_m) <= 0.005)
      return row.packing;
  return Error{
      Fault::out_of_range,
      fmt::format("no usual carton is known for discs of {:.4g} m; give 7, 10 or 12 inch, or "
                  "say mass, cover and count yourself",
                  disc_diameter_m)};
}

}  // namespace goodside::dispatch
