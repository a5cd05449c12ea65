#pragma once
#include <fmt/format.h>

#include <string>
#include <vector>

#include "works/family.hpp"
#include "works/heard_play.hpp"
#include "works/trace_report.hpp"

namespace goodside::draw::samples {

// Made-up families for tests of the pictures alone.

struct TracedFamily {
  works::Family family;
  std::vector<works::HeardPlay> plays;
  works::RecurringFault fault;
};

inline works::HeardFault heard_fault(double programme_s, float angle_deg, float radius_m) {
  works::HeardFault fault;
  fault.programme_s = programme_s;
  fault.angle_deg = angle_deg;
  fault.radius_m = radius_m;
  fault.excess_dB = 20.0F;
  return fault;
}

inline void add_part(works::Family& family,
                     std::string id,
                     works::FamilyPartKind kind,
                     std::string parent) {
  auto& part = family.parts.emplace_back();
  part.id = std::move(id);
  part.kind = kind;
  part.parent = std::move(parent);
}

/// Mothers with stampers of two mountings each, discs heard evenly over the run; mother MO-2 was hurt
/// before its impressions from 40 % of the run on.
inline TracedFamily hurt_mother(int mothers, int stampers, int discs, int impressions) {
  TracedFamily traced;
  auto& family = traced.family;
  add_part(family, "CU-TARN-1", works::FamilyPartKind::cut, "");
  add_part(family, "FA-1", works::FamilyPartKind::father, "CU-TARN-1");
  for (int m = 1; m <= mothers; ++m)
    add_part(family, fmt::format("MO-{}", m), works::FamilyPartKind::mother, "FA-1");
  for (int s = 0; s < stampers; ++s)
    add_part(family,
             fmt::format("ST-{:02}", s + 1),
             works::FamilyPartKind::stamper,
             fmt::format("MO-{}", s % mothers + 1));
  auto& fault = traced.fault;
  fault.programme_s = 222.4;
  fault.angle_deg = 130.0;
  fault.radius_m = 0.121;
  fault.cause.level = works::CauseLevel::mother;
  fault.cause.id = "MO-2";
  fault.cause.posterior = 0.96;
  const std::int64_t onset = impressions * 2 / 5;
  fault.cause.onset = works::CredibleImpressions{onset - 20, onset + 70, onset};
  works::Cause other;
  other.level = works::CauseLevel::stamper;
  other.id = "ST-02";
  other.posterior = 0.03;
  fault.alternatives.push_back(other);
  other.level = works::CauseLevel::press;
  other.id = "PR-2";
  other.posterior = 0.01;
  fault.alternatives.push_back(other);
  for (int d = 0; d < discs; ++d) {
    auto& disc = family.discs.emplace_back();
    const std::int64_t impression = 1 + static_cast<std::int64_t>(d) * impressions / discs;
    // Each stamper presses two stretches of the run.
    const auto slot = static_cast<int>((impression - 1) * 2 * stampers / impressions);
    const int stamper = slot % stampers;
    disc.id = fmt::format("D-{:04}", d + 1);
    disc.stamper[0] = fmt::format("ST-{:02}", stamper + 1);
    disc.mounting = fmt::format("MT-{}", slot + 1);
    disc.press = slot % 2 == 0 ? "PR-1" : "PR-2";
    disc.impression =
        works::Impressions{impression, d % 9 == 4 ? impression + impressions / 40 : impression};
    disc.fetchable = d % 3 == 0;
    if (d % 5 == 4) continue;
    auto& play = traced.plays.emplace_back();
    play.disc = disc.id;
    play.rpm = 100.0 / 3.0;
    play.length_s = 1200.0;
    if (d % 7 == 3) play.heard = {{0.0, 180.0}};
    for (int k = 0; k < d % 4; ++k)
      play.faults.push_back(heard_fault(100.0 + 211.0 * k,
                                        static_cast<float>((d * 37 + k * 101) % 360),
                                        0.14F - 0.02F * static_cast<float>(k)));
    if (stamper % mothers == 1 && impression >= onset && d % 7 != 3 && d % 11 != 0) {
      play.faults.push_back(heard_fault(222.4, 130.0F, 0.121F));
      fault.on.push_back(disc.id);
    }
    if (d % 7 != 3) ++fault.heard;
  }
  fault.suspect.impressions = {{onset, impressions}};
  fault.suspect.discs = impressions - onset;
  works::NextAct next;
  next.disc = fmt::format("D-{:04}", discs * 2 / 5 + 1);
  fault.next.push_back(next);
  fault.action.text = "take MO-2 off growing, grow again from FA-1";
  return traced;
}

}  // namespace goodside::draw::samples
