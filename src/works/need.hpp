#pragma once
#include <array>
#include <cstddef>
#include <cstdint>
#include <map>
#include <string>
#include <string_view>

namespace goodside::works {

/// What a works' own experience says of making discs. The defaults are common practice, no source: they
/// are there to be replaced by a works' own, in the table [need] of its goodside.toml.
struct NeedFigures {
  // Discs.
  double scrap{0.05};           ///< share pressed that cannot be sold
  double scrap_seen_good{0.0};  ///< or what was counted: good and scrapped discs, which say how
  double scrap_seen_bad{0.0};   ///< sure the share is
  double warm_up{6.0};          ///< closings of a mounting before its first good disc
  double test_pressings{5.0};   ///< a title, heard and kept
  double kept{2.0};             ///< a title, for the shelf
  double sample_every{150.0};   ///< impressions; a heard disc is not sold
  double unnoticed{40.0};       ///< flawed discs pressed before a failed stamper is noticed

  // Metal.
  double stamper_yield{0.85}, mother_yield{0.90},
      father_yield{0.90};  ///< share that comes out good
  double stampers_per_mother{10.0}, mothers_per_father{10.0};
  double tank_h_father{12.0}, tank_h_mother{10.0}, tank_h_stamper{5.0};
  double facing_h{0.5};      ///< in the bath, a stamper
  double bench_h_part{1.0};  ///< backing, centring, punching, forming, a stamper

  // Compound and paper.
  double biscuit_kg{0.150};    ///< flash included
  double compound_loss{0.02};  ///< share lost between weighing and biscuit
  double batch_kg{80.0};
  double mixer_h_batch{1.0};
  double label_spoil{0.02}, sleeve_spoil{0.01};
  double carton_discs{25.0};

  // Press and listening.
  double cycle_s{32.0};
  double mounting_h{0.75};   ///< to change stampers and warm up, beside the warm-up discs
  double side_min{20.0};     ///< playing time of a side
  double handling_min{3.0};  ///< a disc, about its hearing

  std::size_t told{};  ///< how many the works has told; the others are built in
  std::map<std::string, double>
      recipe{};  ///< shares of the compound by ingredient; empty: not told
};

struct NeedItem {
  std::string_view name;
  double NeedFigures::*value;
  double low, high;
  std::string_view help;
};

inline constexpr std::array<NeedItem, 29> need_items{{
    {"scrap", &NeedFigures::scrap, 0.0, 0.9, "share of discs pressed that cannot be sold"},
    {"scrap_seen_good",
     &NeedFigures::scrap_seen_good,
     0.0,
     1e9,
     "good discs counted, for the scrap"},
    {"scrap_seen_bad", &NeedFigures::scrap_seen_bad, 0.0, 1e9, "scrapped discs counted with them"},
    {"warm_up",
     &NeedFigures::warm_up,
     0.0,
     1000.0,
     "closings of a mounting before its first good disc"},
    {"test_pressings", &NeedFigures::test_pressings, 0.0, 1000.0, "test pressings a title"},
    {"kept", &NeedFigures::kept, 0.0, 10000.0, "discs of a title kept for the shelf"},
    {"sample_every", &NeedFigures::sample_every, 1.0, 1e6, "impressions from sample to sample"},
    {"unnoticed",
     &NeedFigures::unnoticed,
     0.0,
     10000.0,
     "flawed discs before a failed stamper is noticed"},
    {"stamper_yield",
     &NeedFigures::stamper_yield,
     0.05,
     1.0,
     "share of stampers begun that come out good"},
    {"mother_yield", &NeedFigures::mother_yield, 0.05, 1.0, "the same of mothers"},
    {"father_yield", &NeedFigures::father_yield, 0.05, 1.0, "the same of fathers"},
    {"stampers_per_mother",
     &NeedFigures::stampers_per_mother,
     1.0,
     1000.0,
     "growths a mother stands"},
    {"mothers_per_father",
     &NeedFigures::mothers_per_father,
     1.0,
     1000.0,
     "growths a father stands"},
    {"tank_h_father", &NeedFigures::tank_h_father, 0.0, 1000.0, "hours in the tank, a father"},
    {"tank_h_mother", &NeedFigures::tank_h_mother, 0.0, 1000.0, "hours in the tank, a mother"},
    {"tank_h_stamper", &NeedFigures::tank_h_stamper, 0.0, 1000.0, "hours in the tank, a stamper"},
    {"facing_h", &NeedFigures::facing_h, 0.0, 1000.0, "hours in the facing bath, a stamper"},
    {"bench_h_part",
     &NeedFigures::bench_h_part,
     0.0,
     1000.0,
     "hours of backing, centring, punching, a stamper"},
    {"biscuit_kg", &NeedFigures::biscuit_kg, 0.005, 2.0, "mass of a biscuit, flash included, kg"},
    {"compound_loss",
     &NeedFigures::compound_loss,
     0.0,
     0.9,
     "share of the compound lost before the biscuit"},
    {"batch_kg", &NeedFigures::batch_kg, 0.1, 1e5, "mass of one mix, kg"},
    {"mixer_h_batch", &NeedFigures::mixer_h_batch, 0.0, 1000.0, "hours of the mixer, a mix"},
    {"label_spoil", &NeedFigures::label_spoil, 0.0, 0.9, "share of labels spoilt beside the discs"},
    {"sleeve_spoil", &NeedFigures::sleeve_spoil, 0.0, 0.9, "share of sleeves spoilt"},
    {"carton_discs", &NeedFigures::carton_discs, 1.0, 10000.0, "discs a carton"},
    {"cycle_s", &NeedFigures::cycle_s, 1.0, 36000.0, "seconds of a press, disc to disc"},
    {"mounting_h", &NeedFigures::mounting_h, 0.0, 1000.0, "hours to mount stampers"},
    {"side_min", &NeedFigures::side_min, 0.1, 120.0, "minutes that a side plays"},
    {"handling_min", &NeedFigures::handling_min, 0.0, 600.0, "minutes about the hearing of a disc"},
}};

/// An order, or what is left of it. Orders of one title share its metal.
struct NeedOrder {
  std::string order{}, title{};
  std::int64_t quantity{};
  std::string material{};  ///< empty: one for all
  /// In the house and good; stampers on the press, with their closings, among them.
  std::int64_t stampers_a{}, stampers_b{}, mothers_a{}, mothers_b{}, fathers_a{}, fathers_b{};
  double age_a{}, age_b{};
  std::int64_t on_way{};  ///< pressed and not yet sorted: scrap is among them
  bool tested{};          ///< its test pressings are made
};

}  // namespace goodside::works
