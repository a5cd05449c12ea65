#include "metal/shield.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <limits>
#include <thread>
#include <vector>

#include "metal/cell.hpp"

namespace goodside::metal {
namespace {

constexpr int openings = 9, distances = 7;
constexpr std::size_t begins = 3;
constexpr double worse_than_any = 2.0;

struct Try {
  double opening_m{}, distance_m{}, evenness{worse_than_any};
};

/// Better by more than what the mesh's own changes do to it; else the wider opening, which costs less voltage.
bool better(const Try& one, const Try& other) {
  constexpr double same = 1e-5;
  if (std::abs(one.evenness - other.evenness) > same) return one.evenness < other.evenness;
  return one.opening_m > other.opening_m;
}

class Searcher {
 public:
  Searcher(const works::PlatingCell& cell,
           const works::Kinetics& kinetics,
           const GrooveBand& band,
           double current_A,
           const ShieldSearch& search)
      : cell_{cell}, kinetics_{kinetics}, band_{band}, current_A_{current_A}, search_{search} {
    const double a = cell.disc_radius_m;
    low_distance_ = std::max(cell.rim_height_m, 0.02 * a);
    high_distance_ = cell.anode_distance_m - search.thickness_m - 0.02 * a;
    low_opening_ = 0.33 * a;
    high_opening_ = 0.98 * search.outer_radius_m;
  }

  [[nodiscard]] bool fits() const {
    return high_distance_ > low_distance_ && high_opening_ > low_opening_;
  }
  [[nodiscard]] int tried() const { return tried_; }
  [[nodiscard]] const Error& error() const { return error_; }

  Try find() {
    std::vector<Try> scan;
    for (int i = 0; i < openings; ++i)
      for (int j = 0; j < distances; ++j)
        scan.push_back({low_opening_ + (high_opening_ - low_opening_) * i / (openings - 1),
                        low_distance_ * std::pow(high_distance_ / low_distance_,
                                                 static_cast<double>(j) / (distances - 1))});
    measure(scan);
    std::stable_sort(scan.begin(), scan.end(), better);
    Try best = scan.front();
    for (const Try& begin : apart(scan)) {
      const Try end = compass(begin);
      if (better(end, best)) best = end;
    }
    return best;
  }

 private:
  [[nodiscard]] double opening_step() const {
    return (high_opening_ - low_opening_) / (openings - 1);
  }

  [[nodiscard]] std::vector<Try> apart(const std::vector<Try>& scan) const {
    std::vector<Try> kept;
    for (const Try& one : scan) {
      const bool near = std::ranges::any_of(kept, [&](const Try& other) {
        return std::abs(one.opening_m - other.opening_m) < 1.5 * opening_step() &&
               std::abs(std::log(one.distance_m / other.distance_m)) <
                   1.5 * std::log(high_distance_ / low_distance_) / (distances - 1);
      });
      if (!near && one.evenness < worse_than_any) kept.push_back(one);
      if (kept.size() == begins) break;
    }
    return kept;
  }

  Try compass(Try best) {
    double opening = 0.5 * opening_step();
    double distance =
        0.5 * best.distance_m * std::log(high_distance_ / low_distance_) / (distances - 1);
    const double fine = std::max(2e-4, 1e-3 * cell_.disc_radius_m);
    while (std::max(opening, distance) > fine) {
      std::vector<Try> around;
      for (const auto& [dx, dy] :
           {std::pair{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {-1, -1}, {1, -1}, {-1, 1}})
        around.push_back(
            {std::clamp(best.opening_m + dx * opening, low_opening_, high_opening_),
             std::clamp(best.distance_m + dy * distance, low_distance_, high_distance_)});
      measure(around);
      const Try found = *std::min_element(around.begin(), around.end(), better);
      if (better(found, best)) {
        best = found;
      } else {
        opening *= 0.5;
        distance *= 0.5;
      }
    }
    return best;
  }

  /// Each on whichever thread is free; each writes a slot of its own.
  void measure(std::vector<Try>& tries) {
    std::atomic<std::size_t> next{0};
    std::vector<Error> errors(tries.size());
    const auto run = [&] {
      for (std::size_t i = next++; i < tries.size(); i = next++) evenness(tries[i], errors[i]);
    };
    const std::size_t threads =
        std::min<std::size_t>(tries.size(),
                              search_.jobs > 0 ? static_cast<std::size_t>(search_.jobs)
                                               : std::max(1U, std::thread::hardware_concurrency()));
    {
      std::vector<std::jthread> crew;
      for (std::size_t t = 1; t < threads; ++t) crew.emplace_back(run);
      run();
    }
    tried_ += static_cast<int>(tries.size());
    for (const Error& one : errors)
      if (!one.text.empty()) error_ = one;
  }

  void evenness(Try& one, Error& error) const {
    works::PlatingCell cell = cell_;
    cell.shield = {one.opening_m, one.distance_m, search_.thickness_m, search_.outer_radius_m};
    auto field = PotentialField::make(cell, kinetics_, search_.fineness);
    if (!field) {
      error = field.error();
      return;
    }
    const auto state = field->solve(current_A_);
    if (!state) {
      error = state.error();
      return;
    }
    works::ThicknessProfile profile{.radius_m = {}, .thickness_m = state->current_density_A_per_m2};
    const auto& edges = field->ring_edges_m();
    for (std::size_t k = 0; k + 1 < edges.size(); ++k)
      profile.radius_m.push_back(0.5 * (edges[k] + edges[k + 1]));
    one.evenness = band_spread(profile, band_).evenness;
  }

  const works::PlatingCell& cell_;
  const works::Kinetics& kinetics_;
  GrooveBand band_;
  double current_A_;
  const ShieldSearch& search_;
  double low_distance_{}, high_distance_{}, low_opening_{}, high_opening_{};
  int tried_{};
  Error error_{};
};

}  // namespace

Result<FoundShield> best_shield(const works::PlatingCell& cell,
                                const works::Kinetics& kinetics,
                                const GrooveBand& band,
                                double current_A,
                                const ShieldSearch& search) {
  works::PlatingCell bare = cell;
  bare.shield.reset();
  if (const auto fit = check(bare); !fit) return fit.error();
  Searcher searcher{bare, kinetics, band, current_A, search};
  if (!searcher.fits())
    return Error{Fault::out_of_range,
                 fmt::format("no shield {:g} mm thick fits between the disc and the anode at {:g} "
                             "mm; move the anode "
                             "away or give a thinner shield",
                             search.thickness_m * 1e3,
                             cell.anode_distance_m * 1e3)};
  const Try best = searcher.find();
  if (!(best.evenness < worse_than_any)) return searcher.error();
  return FoundShield{
      .shield = {best.opening_m, best.distance_m, search.thickness_m, search.outer_radius_m},
      .evenness = best.evenness,
      .reached = best.evenness <= search.wanted_evenness,
      .tried = searcher.tried()};
}

}  // namespace goodside::metal
