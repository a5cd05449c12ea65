#include "line/log_cycle.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "line/add_noun.hpp"
#include "line/press_setup.hpp"
#include "works/kind.hpp"

namespace goodside::line {

Result<Entered> log_cycle(const Desk& desk,
                          const press::CycleSetup& setup,
                          const press::CycleResult& cycle,
                          const std::string& name) {
  const auto kind = works::find_kind("recipe");
  if (!kind) return kind.error();
  double hottest_K = 0.0;
  for (const press::Moment& one : cycle.moments)
    hottest_K = std::max({hottest_K, one.face_K[0], one.face_K[1]});
  const auto& at = setup.schedule;
  const auto& [a, b] = setup.sides;
  const std::string why = uncalibrated(setup);
  const Typed typed{
      {"name", name},
      {"steam_pressure", fmt::format("{:.4g} bar", 1e-5 * a.steam_gauge_Pa)},
      {"mould_temperature", fmt::format("{:.1f} °C", hottest_K - 273.15)},
      {"steam_time", fmt::format("{:.2f} s", at.steam_lead_s + at.steam_s)},
      {"cooling_time", fmt::format("{:.2f} s", at.water_s)},
      {"cycle_time", fmt::format("{:.2f} s", cycle.period_s)},
      {"note",
       fmt::format(
           "{}, {:.1f} g biscuit at {:.0f} °C, {:.0f} kN; steam on {:.2f} s before closing, off "
           "{:.2f} s after, water {:.2f} s later{}; {}",
           setup.compound.name,
           1e3 * setup.biscuit.mass_kg,
           setup.biscuit.temperature_K - 273.15,
           1e-3 * setup.force_N,
           at.steam_lead_s,
           at.steam_s,
           at.drain_s,
           a.steam_gauge_Pa == b.steam_gauge_Pa
               ? ""
               : fmt::format("; B's steam {:.4g} bar", 1e-5 * b.steam_gauge_Pa),
           why.empty() ? "fitted to this press" : why.substr(0, why.find(';')))}};
  return add_noun(desk, **kind, typed);
}

}  // namespace goodside::line
