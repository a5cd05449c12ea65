#pragma once
#include <array>
#include <string_view>
#include <utility>

#include "works/listening_report.hpp"

namespace goodside::json {

// The words of goodside.listen/1 for each enumeration of the report, in the order of the
// enumerators.

template <class Enum, std::size_t n>
using Words = std::array<std::pair<Enum, std::string_view>, n>;

inline constexpr Words<works::ReferenceKind, 5> reference_kinds{
    {{works::ReferenceKind::file, "file"},
     {works::ReferenceKind::cutting_feed, "cutting feed"},
     {works::ReferenceKind::mother, "mother"},
     {works::ReferenceKind::approved_pressing, "approved pressing"},
     {works::ReferenceKind::consensus, "consensus"}}};

inline constexpr Words<works::ChannelOrder, 3> channel_orders{
    {{works::ChannelOrder::as_cut, "as cut"},
     {works::ChannelOrder::swapped, "swapped"},
     {works::ChannelOrder::mono, "mono"}}};

inline constexpr Words<works::FaultKind, 7> fault_kinds{{{works::FaultKind::tick, "tick"},
                                                         {works::FaultKind::pop, "pop"},
                                                         {works::FaultKind::burst, "burst"},
                                                         {works::FaultKind::dropout, "dropout"},
                                                         {works::FaultKind::jump, "jump"},
                                                         {works::FaultKind::repeat, "repeat"},
                                                         {works::FaultKind::clip, "clip"}}};

inline constexpr Words<works::FaultChannel, 3> fault_channels{
    {{works::FaultChannel::left, "left"},
     {works::FaultChannel::right, "right"},
     {works::FaultChannel::both, "both"}}};

inline constexpr Words<works::Plane, 3> planes{{{works::Plane::lateral, "lateral"},
                                                {works::Plane::vertical, "vertical"},
                                                {works::Plane::mixed, "mixed"}}};

inline constexpr Words<works::Audibility, 3> audibilities{{{works::Audibility::plain, "plain"},
                                                           {works::Audibility::slight, "slight"},
                                                           {works::Audibility::masked, "masked"}}};

inline constexpr Words<works::Nature, 2> natures{
    {{works::Nature::non_fill, "non-fill"}, {works::Nature::dirt, "dirt"}}};

inline constexpr Words<works::PatternKind, 5> pattern_kinds{
    {{works::PatternKind::radial, "radial"},
     {works::PatternKind::arc, "arc"},
     {works::PatternKind::patch, "patch"},
     {works::PatternKind::scatter, "scatter"},
     {works::PatternKind::echo, "echo"}}};

}  // namespace goodside::json
