#pragma once
#include "json/report_words.hpp"
#include "works/trace_report.hpp"

namespace goodside::json {

// The words of goodside.family/1 and goodside.trace/1.

inline constexpr Words<works::FamilyPartKind, 4> part_kinds{
    {{works::FamilyPartKind::cut, "cut"},
     {works::FamilyPartKind::father, "father"},
     {works::FamilyPartKind::mother, "mother"},
     {works::FamilyPartKind::stamper, "stamper"}}};

inline constexpr Words<works::DiscSide, 2> disc_sides{
    {{works::DiscSide::A, "A"}, {works::DiscSide::B, "B"}}};

inline constexpr Words<works::CauseLevel, 9> cause_levels{
    {{works::CauseLevel::cut, "cut"},
     {works::CauseLevel::father, "father"},
     {works::CauseLevel::mother, "mother"},
     {works::CauseLevel::stamper, "stamper"},
     {works::CauseLevel::mounting, "mounting"},
     {works::CauseLevel::press, "press"},
     {works::CauseLevel::batch, "batch"},
     {works::CauseLevel::disc, "disc"},
     {works::CauseLevel::dust, "dust"}}};

inline constexpr Words<works::ActKind, 5> act_kinds{
    {{works::ActKind::hear, "hear"},
     {works::ActKind::spot_hear, "spot-hear"},
     {works::ActKind::microscope, "microscope"},
     {works::ActKind::play_mother, "play mother"},
     {works::ActKind::look_at_father, "look at father"}}};

inline constexpr Words<works::Remedy, 6> remedies{
    {{works::Remedy::leave, "leave"},
     {works::Remedy::wash, "wash"},
     {works::Remedy::pull_stamper, "pull the stamper"},
     {works::Remedy::new_from_mother, "grow again from the mother"},
     {works::Remedy::back_to_father, "go back to the father"},
     {works::Remedy::new_cut, "cut again"}}};

inline constexpr Words<works::StockRemedy, 3> stock_remedies{
    {{works::StockRemedy::ship, "ship"},
     {works::StockRemedy::inspect, "inspect"},
     {works::StockRemedy::scrap, "scrap"}}};

}  // namespace goodside::json
