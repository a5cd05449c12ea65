#pragma once
#include <array>
#include <cstddef>
#include <string>
#include <string_view>

namespace goodside::works {

/// What looking, mending and changing take in a works. The defaults are invented for a small works
/// (common practice, no source) and are meant to be replaced. Money in one currency, whichever.
struct TraceCosts {
  // Minutes of work for each way to look.
  double hear_min{25.0};
  double spot_hear_min{5.0};
  double microscope_min{12.0};
  double play_mother_min{30.0};
  double look_at_father_min{30.0};
  double minute{0.5};

  // Money for each way to act.
  double wash{15.0};
  double new_stamper{120.0};
  double new_mother{260.0};
  double new_father{600.0};
  double disc{1.5};
  double flawed_disc_out{6.0};
  double slight_disc_out{0.3};
  double inspect_disc{0.5};
  double discs_to_come{300.0};

  // What a stamper that fails on the press costs beyond a planned change (`new_stamper`).
  double unplanned_stop{80.0};
  double scrapped_by_wear{60.0};
  double scrapped_by_crack{40.0};
  double scrapped_by_damage{40.0};
  double scrapped_by_loss{0.0};

  std::size_t told{};  ///< how many of them the works has told; the others are invented
};

/// One item by the name that goodside.toml and the family file give it.
struct CostItem {
  std::string_view name;
  double TraceCosts::*value;
  bool above_nought;  ///< minutes that cannot be none
  std::string_view help;
};

inline constexpr std::array<CostItem, 20> cost_items{{
    {"hear_min", &TraceCosts::hear_min, true, "minutes to fetch a disc and hear a whole side"},
    {"spot_hear_min",
     &TraceCosts::spot_hear_min,
     true,
     "minutes to fetch a disc and drop the needle at one radius"},
    {"microscope_min",
     &TraceCosts::microscope_min,
     true,
     "minutes for the microscope on a stamper at one place"},
    {"play_mother_min", &TraceCosts::play_mother_min, true, "minutes to play a mother"},
    {"look_at_father_min", &TraceCosts::look_at_father_min, true, "minutes to look at a father"},
    {"minute", &TraceCosts::minute, false, "money for a minute of a listener or inspector"},
    {"wash", &TraceCosts::wash, false, "money to clean mould and stamper and mount again"},
    {"new_stamper",
     &TraceCosts::new_stamper,
     false,
     "money to pull a stamper and grow another from the mother"},
    {"new_mother",
     &TraceCosts::new_mother,
     false,
     "money for a mother from the father, with a stamper"},
    {"new_father",
     &TraceCosts::new_father,
     false,
     "money for a new cut, father, mother and stamper"},
    {"disc", &TraceCosts::disc, false, "money for a disc scrapped"},
    {"flawed_disc_out",
     &TraceCosts::flawed_disc_out,
     false,
     "money for a disc with a plain fault at a customer's"},
    {"slight_disc_out", &TraceCosts::slight_disc_out, false, "the same where the fault is slight"},
    {"inspect_disc",
     &TraceCosts::inspect_disc,
     false,
     "money to spot-hear and sort one disc of a suspect range"},
    {"discs_to_come",
     &TraceCosts::discs_to_come,
     false,
     "closings still wanted from a stamper set"},
    {"unplanned_stop",
     &TraceCosts::unplanned_stop,
     false,
     "money for the stand of a press whose stamper fails"},
    {"scrapped_by_wear",
     &TraceCosts::scrapped_by_wear,
     false,
     "discs pressed before wear is noticed"},
    {"scrapped_by_crack",
     &TraceCosts::scrapped_by_crack,
     false,
     "discs pressed before a crack is noticed"},
    {"scrapped_by_damage",
     &TraceCosts::scrapped_by_damage,
     false,
     "discs pressed before damage is noticed"},
    {"scrapped_by_loss",
     &TraceCosts::scrapped_by_loss,
     false,
     "discs lost with a stamper that is lost"},
}};

/// A sentence that says how many of the costs are invented; empty where the works has told all.
[[nodiscard]] std::string invented_costs(const TraceCosts&);

inline constexpr double highest_cost = 1e9;

/// Whether an item can be so much.
[[nodiscard]] constexpr bool may_be(const CostItem& item, double value) {
  return value >= 0.0 && value < highest_cost && !(item.above_nought && value == 0.0);
}
[[nodiscard]] constexpr std::string_view expected(const CostItem& item) {
  return item.above_nought ? "minutes above 0 should stand here"
                           : "an amount of 0 or more, under 1e9, should stand here";
}

}  // namespace goodside::works
