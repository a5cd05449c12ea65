#include <fmt/format.h>
#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "trace/coincide.hpp"
#include "trace/trace.hpp"

// The scale bench of tracing: trace_bench [SCALE] makes a title of 5,000 parts, 50,000 heard discs and a million
// faults in memory, times SCALE, at an eighth, a quarter, a half and the whole, and prints time and memory. Report
// parsing is not in it. The making is told apart from the tracing.

namespace {

using namespace goodside;
using Clock = std::chrono::steady_clock;

struct Made {
  works::Family family;
  std::vector<works::HeardPlay> plays;
  std::size_t faults{};
};

/// Mothers of four stampers, each pressed from 250 times, every twentieth disc heard; one recurring
/// fault in two hundred discs, on a stamper from some impression, or on a mother.
Made make(int mothers, double strays) {
  constexpr int stampers_each = 4;
  constexpr std::int64_t closings = 250, step = 20;
  constexpr double length_s = 1200.0, sigma_s = 1e-4, detection = 0.85;
  std::mt19937_64 random{11};
  std::uniform_real_distribution<double> even{0.0, 1.0};
  std::normal_distribution<double> normal{0.0, 1.0};
  std::poisson_distribution<int> stray_count{strays};
  Made made;
  auto& parts = made.family.parts;
  const auto part = [&](std::string id, works::FamilyPartKind kind, std::string parent, int grown) {
    works::FamilyPart one;
    one.id = std::move(id);
    one.kind = kind;
    one.parent = std::move(parent);
    one.grown = grown;
    parts.push_back(std::move(one));
  };
  part("C1", works::FamilyPartKind::cut, "", 1);
  part("F1", works::FamilyPartKind::father, "C1", 1);
  struct Fault {
    double programme_s;
    int mother, stamper;  ///< stamper -1: all of the mother
    std::int64_t from;
  };
  std::vector<std::vector<Fault>> of(static_cast<std::size_t>(mothers));
  for (int m = 0; m < mothers; ++m) {
    part(fmt::format("M{}", m + 1), works::FamilyPartKind::mother, "F1", m + 1);
    for (int s = 0; s < stampers_each; ++s)
      part(fmt::format("S{}", m * stampers_each + s + 1),
           works::FamilyPartKind::stamper,
           fmt::format("M{}", m + 1),
           s + 1);
    if (m % 4 == 0)
      of[static_cast<std::size_t>(m)].push_back({5.0 + 1190.0 * even(random),
                                                 m,
                                                 m % 8 == 0 ? -1 : static_cast<int>(random() % 4),
                                                 static_cast<std::int64_t>(random() % 150)});
  }
  const std::int64_t last = closings * stampers_each * mothers;
  for (std::int64_t n = step / 2; n <= last; n += step) {
    const int stamper = static_cast<int>((n - 1) / closings), mother = stamper / stampers_each;
    works::FamilyDisc disc;
    disc.id = fmt::format("D{}", n);
    disc.stamper[0] = fmt::format("S{}", stamper + 1);
    disc.mounting = fmt::format("N{}", stamper + 1);
    disc.press = fmt::format("P{}", 1 + mother % 4);
    disc.batch = fmt::format("B{}", 1 + n / 2000);
    disc.impression = works::Impressions{n, n};
    works::HeardPlay play;
    play.disc = disc.id;
    play.length_s = length_s;
    play.rpm = 100.0 / 3.0;
    play.sigma_s = sigma_s;
    play.heard = {{0.0, length_s}};
    for (const Fault& fault : of[static_cast<std::size_t>(mother)])
      if ((fault.stamper < 0 ||
           (fault.stamper == stamper % stampers_each && (n - 1) % closings >= fault.from)) &&
          even(random) < detection)
        play.faults.push_back({.programme_s = fault.programme_s + sigma_s * normal(random),
                               .excess_dB = static_cast<float>(12.0 + normal(random))});
    if (even(random) < detection)
      play.faults.push_back({.programme_s = 321.0 + sigma_s * normal(random), .excess_dB = 14.0F});
    for (int i = stray_count(random); i > 0; --i)
      play.faults.push_back({.programme_s = length_s * even(random),
                             .excess_dB = static_cast<float>(4.0 + 15.0 * even(random))});
    std::sort(play.faults.begin(), play.faults.end(), [](const auto& a, const auto& b) {
      return a.programme_s < b.programme_s;
    });
    made.faults += play.faults.size();
    made.family.discs.push_back(std::move(disc));
    made.plays.push_back(std::move(play));
  }
  return made;
}

double seconds_since(Clock::time_point begun) {
  return std::chrono::duration<double>(Clock::now() - begun).count();
}

}  // namespace

int main(int count, char** words) {
  const double scale = count > 1 ? std::atof(words[1]) : 1.0;
  if (!(scale > 0.0 && scale <= 4.0)) {
    fmt::print(stderr, "trace_bench [SCALE], above 0 and at most 4\n");
    return 2;
  }
  fmt::print("{:>8}{:>8}{:>10}{:>12}{:>11}{:>10}{:>12}{:>9}\n",
             "parts",
             "discs",
             "faults",
             "coincide",
             "whole",
             "us/fault",
             "recurring",
             "peak");
  for (const double share : {0.125, 0.25, 0.5, 1.0}) {
    Made made = make(std::max(1, static_cast<int>(1000 * share * scale)), 18.0);
    const std::size_t parts = made.family.parts.size(), discs = made.plays.size(),
                      faults = made.faults;
    auto begun = Clock::now();
    {
      const auto index = trace::index_side(made.family, made.plays, works::DiscSide::A);
      const auto found = trace::coincide(index, made.plays);
      if (found.events.size() != faults) return 3;
    }
    const double coincide_s = seconds_since(begun);
    begun = Clock::now();
    const auto report = trace::trace(std::move(made.family), std::move(made.plays));
    const double whole_s = seconds_since(begun);
    rusage used{};
    getrusage(RUSAGE_SELF, &used);
    fmt::print("{:>8}{:>8}{:>10}{:>10.2f} s{:>9.2f} s{:>10.2f}{:>12}{:>6} MB\n",
               parts,
               discs,
               faults,
               coincide_s,
               whole_s,
               1e6 * whole_s / static_cast<double>(faults),
               report.recurring.size(),
               used.ru_maxrss / 1024);
  }
  return 0;
}
