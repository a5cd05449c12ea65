#include "works/holding.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>

namespace goodside::works {
namespace {

constexpr std::array<std::pair<Place, std::string_view>, 10> words{
    {{Place::press, "press"},
     {Place::pressed, "pressed"},
     {Place::edge_finished, "edge finished"},
     {Place::in_sample, "in sample"},
     {Place::good_stock, "good stock"},
     {Place::suspect, "suspect"},
     {Place::packed, "packed"},
     {Place::shipped, "shipped"},
     {Place::scrap, "scrap"},
     {Place::unaccounted, "unaccounted"}}};

std::string shown(const Impressions& impressions) {
  return impressions.first == impressions.last
             ? fmt::format("{}", impressions.first)
             : fmt::format("{}–{}", impressions.first, impressions.last);
}

std::string shown(const Spot& spot) {
  std::string text{word(spot.place)};
  if (!spot.at.empty()) text += " " + spot.at;
  if (!spot.reason.empty()) text += " (" + spot.reason + ")";
  return text;
}

/// Of two intervals that meet.
Impressions overlap(const Impressions& a, const Impressions& b) {
  return {std::max(a.first, b.first), std::min(a.last, b.last)};
}

Error conflict(std::string text) {
  return {Fault::conflict, std::move(text)};
}

}  // namespace

std::string_view word(Place place) {
  return words.at(static_cast<std::size_t>(place)).second;
}

Result<Place> read_place(std::string_view typed) {
  for (const auto& [place, name] : words)
    if (name == typed) return place;
  std::string plain{typed}, known;
  std::replace(plain.begin(), plain.end(), '-', ' ');
  std::replace(plain.begin(), plain.end(), '_', ' ');
  if (plain == "good") return Place::good_stock;
  if (plain == "sample") return Place::in_sample;
  for (const auto& [place, name] : words) {
    if (name == plain) return place;
    if (place != Place::press) known += (known.empty() ? "" : ", ") + std::string{name};
  }
  return Error{
      Fault::bad_input,
      fmt::format(
          "\"{}\" is no place of the ledger; the places are {}", plain.substr(0, 40), known)};
}

RunStock::RunStock(std::vector<Holding> holdings) : holdings_{std::move(holdings)} {
  std::sort(holdings_.begin(), holdings_.end());
  made_ = sum();
}

std::int64_t RunStock::sum() const {
  std::int64_t total = 0;
  for (const Holding& holding : holdings_) total += holding.quantity;
  return total;
}

void RunStock::add(Holding more) {
  if (more.quantity == 0) return;
  const auto same = std::find_if(holdings_.begin(), holdings_.end(), [&](const Holding& holding) {
    return holding.impressions == more.impressions && holding.spot == more.spot;
  });
  if (same != holdings_.end()) {
    more.quantity += same->quantity;
    holdings_.erase(same);
    if (more.quantity == 0) return;
  }
  // Exact ranges at one spot that touch are one range.
  if (more.exact())
    for (auto other = holdings_.begin(); other != holdings_.end();) {
      const bool touches = other->impressions.last + 1 == more.impressions.first ||
                           other->impressions.first == more.impressions.last + 1;
      if (!touches || !other->exact() || other->spot != more.spot) {
        ++other;
        continue;
      }
      more.impressions = {std::min(more.impressions.first, other->impressions.first),
                          std::max(more.impressions.last, other->impressions.last)};
      more.quantity += other->quantity;
      other = holdings_.erase(other);
    }
  holdings_.insert(std::upper_bound(holdings_.begin(), holdings_.end(), more), std::move(more));
}

Outcome RunStock::post(const Movement& movement) {
  const Impressions& wanted = movement.impressions;
  const std::int64_t quantity = movement.quantity;
  if (quantity < 1 || wanted.first < 1 || wanted.last < wanted.first)
    return Error{Fault::bad_input,
                 fmt::format("{} discs of impressions {} cannot be moved; give a quantity of at "
                             "least 1 and an interval that begins at 1 or later",
                             quantity,
                             shown(wanted))};
  if (quantity > wanted.width())
    return Error{Fault::bad_input,
                 fmt::format("impressions {} are {} discs at most, not {}",
                             shown(wanted),
                             wanted.width(),
                             quantity)};

  if (movement.from.place == Place::press) {
    if (wanted.first != made_ + 1 || quantity != wanted.width())
      return conflict(
          fmt::format("the next impression of {} is {}, not {}; another station may "
                      "have claimed it: look again",
                      movement.run,
                      made_ + 1,
                      wanted.first));
    made_ += quantity;
    add({wanted, movement.to, quantity});
    return Done{};
  }

  if (wanted.last > made_)
    return conflict(fmt::format(
        "run {} has made {} impressions; there is no {}", movement.run, made_, wanted.last));

  // Back to the press: a pressing that was entered by mistake is reversed. Only the last ones can.
  if (movement.to.place == Place::press && (wanted.last != made_ || quantity != wanted.width()))
    return conflict("only the impressions entered last can be taken back, all of them");

  // Only what narrows the interval of discs that are not known one by one can make it overfull.
  std::vector<Holding> before;
  const auto made_before = made_;
  if (movement.from.place == Place::unaccounted) {
    before = holdings_;
    add({wanted, movement.from, -quantity});
  } else {
    const auto source = find_source(movement);
    if (source == holdings_.end()) {
      if (!take_mixed(movement)) return not_there(movement);
    } else {
      const Holding taken = *source;
      if (!taken.exact() && wanted != taken.impressions) before = holdings_;
      holdings_.erase(source);
      keep_rest(taken, wanted, quantity);
    }
  }
  if (movement.to.place == Place::press)
    made_ -= quantity;
  else
    add({wanted, movement.to, quantity});

  if (before.empty()) return Done{};
  if (const auto full = overfull()) {
    holdings_ = std::move(before);
    made_ = made_before;
    return conflict(
        fmt::format("impressions {} of {} would then hold more discs than were pressed "
                    "there; widen the interval",
                    shown(*full),
                    movement.run));
  }
  return Done{};
}

std::vector<Holding>::iterator RunStock::find_source(const Movement& movement) {
  return std::find_if(holdings_.begin(), holdings_.end(), [&](const Holding& holding) {
    return movement.impressions.within(holding.impressions) &&
           holding.quantity >= movement.quantity && holding.spot == movement.from;
  });
}

bool RunStock::take_mixed(const Movement& movement) {
  const Impressions& wanted = movement.impressions;
  const auto counts = [&](const Holding& holding) {
    return holding.spot == movement.from && holding.quantity > 0 &&
           holding.impressions.meets(wanted) &&
           (holding.exact() || holding.impressions.within(wanted));
  };
  std::vector<Holding> mixed;
  std::int64_t there = 0;
  for (const Holding& holding : holdings_) {
    if (!counts(holding)) continue;
    mixed.push_back(holding);
    there += std::min(holding.quantity, overlap(holding.impressions, wanted).width());
  }
  if (there < movement.quantity) return false;
  std::erase_if(holdings_, counts);
  for (const Holding& holding : mixed) {
    if (holding.impressions.within(wanted)) continue;
    const Impressions left{holding.impressions.first, wanted.first - 1},
        right{wanted.last + 1, holding.impressions.last};
    if (left.width() > 0) add({left, holding.spot, left.width()});
    if (right.width() > 0) add({right, holding.spot, right.width()});
  }
  add({wanted, movement.from, there - movement.quantity});
  return true;
}

void RunStock::keep_rest(const Holding& taken, const Impressions& wanted, std::int64_t quantity) {
  if (!taken.exact()) {
    add({taken.impressions, taken.spot, taken.quantity - quantity});
    return;
  }
  const Impressions left{taken.impressions.first, wanted.first - 1},
      right{wanted.last + 1, taken.impressions.last};
  add({left, taken.spot, left.width()});
  add({right, taken.spot, right.width()});
  add({wanted, taken.spot, wanted.width() - quantity});
}

Error RunStock::not_there(const Movement& movement) const {
  const Impressions& wanted = movement.impressions;
  std::int64_t there = 0;
  for (const Holding& holding : holdings_) {
    if (holding.spot != movement.from || !wanted.meets(holding.impressions)) continue;
    there += std::min(holding.quantity, overlap(holding.impressions, wanted).width());
  }
  return conflict(
      fmt::format("{} holds {} of impressions {} of {}, so {} cannot be taken from "
                  "there together; `goodside works where {}` shows what is where",
                  shown(movement.from),
                  there == 0 ? "none" : fmt::format("at most {}", there),
                  shown(wanted),
                  movement.run,
                  movement.quantity,
                  movement.run));
}

std::optional<Impressions> RunStock::overfull() const {
  // Hall's condition for intervals: every disc can have an impression of its own unless some
  // interval [a, b] holds more discs than impressions. Enough to look at ends of holdings. A recount
  // that found more stands as a negative count at `unaccounted` and widens its interval.
  std::vector<std::int64_t> firsts;
  std::map<std::int64_t, std::vector<const Holding*>> by_last;
  for (const Holding& holding : holdings_) {
    firsts.push_back(holding.impressions.first);
    by_last[holding.impressions.last].push_back(&holding);
  }
  std::sort(firsts.begin(), firsts.end());
  firsts.erase(std::unique(firsts.begin(), firsts.end()), firsts.end());
  for (const std::int64_t first : firsts) {
    std::int64_t inside = 0;
    for (const auto& [last, ending] : by_last) {
      if (last < first) continue;
      for (const Holding* holding : ending)
        if (holding->impressions.first >= first) inside += holding->quantity;
      if (inside > last - first + 1) return Impressions{first, last};
    }
  }
  return std::nullopt;
}

}  // namespace goodside::works
