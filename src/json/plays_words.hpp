#pragma once
#include "json/report_words.hpp"
#include "works/disc_plays.hpp"

namespace goodside::json {

// The words of goodside.plays/1.

inline constexpr Words<works::After, 4> afters{{{works::After::as_found, "as found"},
                                                {works::After::brushed, "brushed"},
                                                {works::After::washed, "washed"},
                                                {works::After::reseated, "reseated"}}};

inline constexpr Words<works::Showing, 3> showings{{{works::Showing::found, "found"},
                                                    {works::Showing::missed, "missed"},
                                                    {works::Showing::not_heard, "not heard"}}};

inline constexpr Words<works::Owner, 3> owners{{{works::Owner::disc, "disc"},
                                                {works::Owner::dust, "dust"},
                                                {works::Owner::undecided, "undecided"}}};

}  // namespace goodside::json
