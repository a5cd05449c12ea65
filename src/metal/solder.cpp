#include "metal/solder.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <string>

#include "base/near_miss.hpp"

namespace goodside::metal {
namespace {

constexpr double celsius_K = 273.15;

works::Solder alloy(const char* name, double solidus_C, double liquidus_C, bool leaded) {
  return {.name = name,
          .solidus_K = solidus_C + celsius_K,
          .liquidus_K = liquidus_C + celsius_K,
          .leaded = leaded};
}

const std::vector<works::PlateLayer>& metals() {
  static const std::vector<works::PlateLayer> all{{"nickel", 0.0, 200e9, 0.31, 13.4e-6},
                                                  {"copper", 0.0, 117e9, 0.34, 16.5e-6},
                                                  {"chromium", 0.0, 279e9, 0.21, 4.9e-6},
                                                  {"steel", 0.0, 200e9, 0.29, 11.7e-6},
                                                  {"tool steel", 0.0, 205e9, 0.29, 12e-6},
                                                  {"stainless steel", 0.0, 193e9, 0.29, 17.3e-6},
                                                  {"brass", 0.0, 105e9, 0.34, 19.5e-6},
                                                  {"aluminium", 0.0, 70e9, 0.33, 23e-6},
                                                  {"solder", 0.0, 30e9, 0.38, 24e-6}};
  return all;
}

}  // namespace

std::span<const works::Solder> common_solders() {
  static const std::vector<works::Solder> all{alloy("In52Sn48", 118, 118, false),
                                              alloy("Sn42Bi58", 138, 138, false),
                                              alloy("Sn62Pb36Ag2", 179, 179, true),
                                              alloy("Sn63Pb37", 183, 183, true),
                                              alloy("Sn60Pb40", 183, 191, true),
                                              alloy("Sn50Pb50", 183, 216, true),
                                              alloy("Sn40Pb60", 183, 238, true),
                                              alloy("Sn96.5Ag3Cu0.5", 217, 220, false),
                                              alloy("Sn96.5Ag3.5", 221, 221, false),
                                              alloy("Sn99.3Cu0.7", 227, 227, false)};
  return all;
}

Result<works::Solder> solder(std::string_view name) {
  std::vector<std::string> names;
  for (const auto& one : common_solders()) {
    if (one.name == name) return one;
    names.push_back(one.name);
  }
  return Error{
      Fault::not_found,
      fmt::format("no solder is called \"{}\"; {}",
                  name.substr(0, 40),
                  suggestion(name, names)
                      .value_or("there are " + fmt::format("{}", fmt::join(names, ", "))))};
}

Result<works::PlateLayer> metal_layer(std::string_view metal, double thickness_m) {
  std::vector<std::string> names;
  for (auto one : metals()) {
    if (one.name == metal) {
      one.thickness_m = thickness_m;
      return one;
    }
    names.push_back(one.name);
  }
  return Error{
      Fault::not_found,
      fmt::format("no metal is called \"{}\"; {}",
                  metal.substr(0, 40),
                  suggestion(metal, names)
                      .value_or("there are " + fmt::format("{}", fmt::join(names, ", "))))};
}

std::vector<works::SolderChoice> rank_solders(std::span<const works::Solder> solders,
                                              double hottest_K,
                                              double least_margin_K) {
  std::vector<works::SolderChoice> all;
  for (const auto& one : solders) {
    works::SolderChoice choice{.solder = one, .margin_K = one.solidus_K - hottest_K};
    choice.fit = choice.margin_K >= least_margin_K;
    if (choice.margin_K <= 0.0)
      choice.why = "melts in the press";
    else if (!choice.fit)
      choice.why = fmt::format("only {:.0f} K under its solidus", choice.margin_K);
    else
      choice.why = one.liquidus_K - one.solidus_K > 5.0
                       ? "freezes over a range: the plate can be pressed flat the while"
                       : "freezes at once";
    all.push_back(choice);
  }
  std::ranges::stable_sort(all, [](const auto& a, const auto& b) {
    if (a.fit != b.fit) return a.fit;
    return a.fit ? a.margin_K < b.margin_K : a.margin_K > b.margin_K;
  });
  return all;
}

}  // namespace goodside::metal
