#include "draw/place_heard.hpp"

#include <algorithm>
#include <string_view>
#include <unordered_map>

namespace goodside::draw {

std::vector<PlaceHeard> place_heard(const works::Family& family,
                                    const works::RecurringFault& fault,
                                    std::span<const works::HeardPlay> plays) {
  std::unordered_map<std::string_view, std::size_t> numbers;
  for (std::size_t i = 0; i < family.discs.size(); ++i) numbers.emplace(family.discs[i].id, i);
  std::vector<PlaceHeard> result(family.discs.size(), PlaceHeard::not_heard);
  const auto covers = [&](const works::HeardPlay& play) {
    return play.heard.empty() || std::ranges::any_of(play.heard, [&](const auto& part) {
             return part.from_s <= fault.programme_s && fault.programme_s <= part.to_s;
           });
  };
  for (const auto& play : plays)
    if (const auto known = numbers.find(play.disc);
        known != numbers.end() && play.side == fault.side && covers(play))
      result[known->second] = PlaceHeard::clean;
  for (const auto& disc : fault.on)
    if (const auto known = numbers.find(disc); known != numbers.end())
      result[known->second] = PlaceHeard::fault;
  return result;
}

Standing shape(PlaceHeard heard) {
  switch (heard) {
    case PlaceHeard::fault:
      return Standing::out;
    case PlaceHeard::clean:
      return Standing::good;
    case PlaceHeard::not_heard:
      break;
  }
  return Standing::unjudged;
}

}  // namespace goodside::draw
