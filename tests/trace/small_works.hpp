#pragma once
#include <fmt/format.h>

#include <algorithm>
#include <cstdint>
#include <functional>
#include <random>
#include <string>
#include <vector>

#include "works/family.hpp"
#include "works/heard_play.hpp"

namespace goodside::test {

/// A works of one press whose stampers follow each other, each mounted once, every `step`-th disc
/// heard; faults are planted by a rule.
struct SmallWorks {
  int mothers{2}, stampers_each{2};
  std::int64_t closings{200}, step{20};
  double length_s{1000.0}, sigma_s{1e-4}, detection{0.9};
  double strays{3.0};  ///< a disc
  std::uint64_t seed{1};

  struct Planted {
    double programme_s;
    std::function<bool(int mother, int stamper, std::int64_t impression)> touches;
  };
  std::vector<Planted> planted{};

  works::Family family{};
  std::vector<works::HeardPlay> plays{};

  [[nodiscard]] static std::string stamper_id(int number) { return fmt::format("S{}", number + 1); }

  void make() {
    std::mt19937_64 random{seed};
    std::uniform_real_distribution<double> even{0.0, 1.0};
    std::normal_distribution<double> normal{0.0, 1.0};
    std::poisson_distribution<int> stray_count{std::max(strays, 1e-9)};  // 0 is none, and forbidden
    family.parts.push_back({.id = "C1",
                            .kind = works::FamilyPartKind::cut,
                            .parent = "",
                            .grown = {},
                            .material = "",
                            .facing = ""});
    family.parts.push_back({.id = "F1",
                            .kind = works::FamilyPartKind::father,
                            .parent = "C1",
                            .grown = 1,
                            .material = "",
                            .facing = ""});
    int stamper = 0;
    for (int m = 0; m < mothers; ++m) {
      const std::string mother = fmt::format("M{}", m + 1);
      family.parts.push_back({.id = mother,
                              .kind = works::FamilyPartKind::mother,
                              .parent = "F1",
                              .grown = m + 1,
                              .material = "",
                              .facing = ""});
      for (int s = 0; s < stampers_each; ++s, ++stamper)
        family.parts.push_back({.id = stamper_id(stamper),
                                .kind = works::FamilyPartKind::stamper,
                                .parent = mother,
                                .grown = s + 1,
                                .material = "",
                                .facing = ""});
    }
    const std::int64_t last = closings * stamper;
    for (std::int64_t n = 1; n <= last; ++n) {
      const int of = static_cast<int>((n - 1) / closings);
      works::FamilyDisc disc;
      disc.id = fmt::format("D{}", n);
      disc.stamper[0] = stamper_id(of);
      disc.mounting = fmt::format("N{}", of + 1);
      disc.press = "P1";
      disc.impression = works::Impressions{n, n};
      const bool heard = n % step == step / 2;
      disc.fetchable = !heard;
      family.discs.push_back(disc);
      if (!heard) continue;
      works::HeardPlay play;
      play.disc = disc.id;
      play.file = disc.id + ".json";
      play.sigma_s = sigma_s;
      play.length_s = length_s;
      play.rpm = 100.0 / 3.0;
      play.heard = {{0.0, length_s}};
      for (const Planted& one : planted)
        if (one.touches(of / stampers_each, of, n) && even(random) < detection)
          play.faults.push_back({.programme_s = one.programme_s + sigma_s * normal(random),
                                 .excess_dB = static_cast<float>(15.0 + normal(random))});
      for (int i = stray_count(random); i > 0; --i)
        play.faults.push_back({.programme_s = length_s * even(random),
                               .excess_dB = static_cast<float>(5.0 + 15.0 * even(random))});
      std::ranges::sort(play.faults, {}, &works::HeardFault::programme_s);
      plays.push_back(std::move(play));
    }
  }
};

}  // namespace goodside::test
