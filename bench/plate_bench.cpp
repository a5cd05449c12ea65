// How long a field takes on the default mesh, alone and with kinetics, and the search of the best shield.
//   plate_bench
#include <fmt/format.h>

#include <chrono>
#include <cstdio>

#include "metal/cell.hpp"
#include "metal/shield.hpp"

namespace {

using namespace goodside;

double seconds() {
  using namespace std::chrono;
  return duration<double>(steady_clock::now().time_since_epoch()).count();
}

/// The best of five.
double solve_s(const works::PlatingCell& cell, const works::Kinetics& kinetics, int& unknowns) {
  double best_s = 1e9;
  for (int i = 0; i < 5; ++i) {
    const double from_s = seconds();
    auto field = metal::PotentialField::make(cell, kinetics);
    if (!field || !field->solve(48.0)) return -1.0;
    unknowns = field->unknowns();
    best_s = std::min(best_s, seconds() - from_s);
  }
  return best_s;
}

}  // namespace

int main() {
  auto cell = metal::ordinary_cell(0.16, 8.0);
  const works::Kinetics primary{.law = works::KineticLaw::primary};
  const works::Kinetics tafel{.law = works::KineticLaw::tafel,
                              .exchange_current_density_A_per_m2 = 0.01,
                              .slope_V_per_decade = 0.12};
  const double from_s = seconds();
  const auto found = metal::best_shield(
      cell, tafel, {0.0576, 0.1463}, 48.0, {.outer_radius_m = cell.cell_radius_m});
  const double search_s = seconds() - from_s;
  if (!found) return 1;
  cell.shield = found->shield;
  int unknowns = 0;
  const double linear_s = solve_s(cell, primary, unknowns);
  const double kinetic_s = solve_s(cell, tafel, unknowns);
  std::puts(fmt::format("plate: {} unknowns, linear {:.3f} s (wanted < 0.3), Tafel {:.3f} s (< 1), "
                        "best shield {:.1f} s of {} settings (< 30)",
                        unknowns,
                        linear_s,
                        kinetic_s,
                        search_s,
                        found->tried)
                .c_str());
  return 0;
}
