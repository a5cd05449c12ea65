#pragma once
#include <optional>
#include <string>
#include <vector>

namespace goodside::works {

/// Thickness of a disc over its radius: straight between points, a step where two have one radius.
struct DiscProfile {
  struct Point {
    double radius_m{}, thickness_m{};
  };
  std::vector<Point> points;  ///< from the hole outwards
};

/// The two sides' grooves, which the mould's ridges keep free of compound.
struct Grooves {
  double outer_radius_m{}, inner_radius_m{}, pitch_m{};
  double top_width_m{};             ///< mean
  double included_angle_deg{90.0};  ///< of the V
  int sides{2};
};

/// What a disc takes and how its biscuit is made.
struct BiscuitRequest {
  DiscProfile profile;
  std::optional<Grooves> grooves;
  double density_kg_per_m3{};  ///< of the cold compound
  double shrinkage{};          ///< linear, mould to cold disc
  bool profile_of_mould{};     ///< the profile is the cavity's, hot; else the cold disc's
  double flash{0.07};          ///< of the disc's mass, aimed at (common practice 3 to 12 %)
  double least_flash{
      0.01};  ///< below it the rim is not filled (from memory; find it by short charges)
  double most_flash{0.12};  ///< above it the disc comes out thick and the cycle slow
  double scrap{};           ///< share of discs that go back to the mill with the flash
  std::optional<double> sheet_thickness_m, sheet_thickness_sigma_m;
  std::optional<double> knife_m, knife_sigma_m;  ///< distance of the knives
  std::optional<double> sheet_width_m;
  std::optional<double> puck_diameter_m;
  std::optional<double> sigma_kg;  ///< of a biscuit's mass, where no biscuits were weighed
  std::vector<double> weighed_kg;  ///< in the order they were weighed
  double short_chance{1e-3};       ///< that may fall short
  double thick_chance{1e-2};       ///< that may come out with too much flash
  double division_kg{1e-4};        ///< of the biscuit scale
};

struct BiscuitScatter {
  double mean_kg{}, sigma_kg{};
  std::optional<double> sigma_low_kg, sigma_high_kg;  ///< 95 %, from the biscuits weighed
  int count{};  ///< weighed; 0: sigma from the sheet and the knives, or told
  double short_chance{}, thick_chance{};  ///< of the next biscuit
  int short_seen{}, thick_seen{};
  std::vector<int>
      outside;        ///< places, from 1, of biscuits that the chart of single values puts outside
  double flash_kg{};  ///< mean
};

/// One cut of the sheet.
struct BiscuitCut {
  double mass_kg{};                ///< the aim, or the biscuit with the flash aimed at
  double area_m2{}, side_m{};      ///< square of that side
  std::optional<double> length_m;  ///< beside the knives' distance
  std::optional<int> across;       ///< so many beside each other in the sheet's width
  std::optional<double> trim_m;    ///< of the width left over
  std::optional<double> puck_height_m;
};

struct BiscuitReport {
  BiscuitRequest request;
  double volume_m3{}, groove_volume_m3{};  ///< cold disc, grooves taken off; both sides' grooves
  double disc_kg{}, biscuit_kg{};          ///< biscuit with the flash aimed at
  double short_below_kg{}, thick_above_kg{};
  std::optional<BiscuitCut> cut;
  std::optional<BiscuitScatter>
      now;  ///< of the biscuits weighed, or of the biscuit with the flash aimed at
  std::optional<double> aim_kg;         ///< least mean that falls short no more often than allowed
  std::optional<BiscuitScatter> aimed;  ///< at that mean
  double widest_sigma_kg{};             ///< that both chances allow
  double regrind_share{};               ///< that flash and scrap give back
  std::vector<std::string> remarks, cautions;
  bool is_within{true};
};

}  // namespace goodside::works
