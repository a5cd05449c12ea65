#include "plan/need.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "stats/discrete.hpp"

namespace goodside::plan {
namespace {

constexpr std::int64_t most_discs = 2'000'000;
constexpr double hour_s = 3600.0, hour_min = 60.0;

std::int64_t up(double value) {
  return static_cast<std::int64_t>(std::ceil(value - 1e-9));
}

Outcome check(const NeedOrder& order) {
  const auto refuse = [&order](const std::string& what) {
    return Error{Fault::bad_input, fmt::format("order {}: {}", order.order, what)};
  };
  if (order.title.empty()) return refuse("no title; name what is pressed");
  if (order.quantity < 1 || order.quantity > most_discs)
    return refuse(fmt::format("{} discs; 1 to {}", order.quantity, most_discs));
  for (const std::int64_t parts : {order.stampers_a,
                                   order.stampers_b,
                                   order.mothers_a,
                                   order.mothers_b,
                                   order.fathers_a,
                                   order.fathers_b})
    if (parts < 0 || parts > 10'000) return refuse("parts in hand: 0 to 10,000");
  for (const double age : {order.age_a, order.age_b})
    if (!std::isfinite(age) || age < 0.0 || age > 1e9)
      return refuse("closings of a stamper on the press: 0 to 1e9");
  if (order.on_way < 0 || order.on_way > most_discs)
    return refuse(fmt::format("{} discs on their way; 0 to {}", order.on_way, most_discs));
  if ((order.age_a > 0.0 && order.stampers_a == 0) || (order.age_b > 0.0 && order.stampers_b == 0))
    return refuse("a stamper has an age, and none of that side is in hand; count it in");
  return Done{};
}

/// Impressions and samples that hang together. What is pressed already is so many of the impressions.
void count_discs(TitleNeed& title, const NeedFigures& figures, double chance) {
  const auto seen = static_cast<std::int64_t>(figures.scrap_seen_good);
  const auto seen_bad = static_cast<std::int64_t>(figures.scrap_seen_bad);
  constexpr int most_rounds = 50;
  for (int round = 0; round < most_rounds; ++round) {
    const std::int64_t wanted = title.quantity + title.kept + title.tests + title.samples;
    title.impressions = stats::trials_for({.wanted = wanted,
                                           .chance = 1.0 - figures.scrap,
                                           .confidence = chance,
                                           .seen_good = seen,
                                           .seen_bad = seen_bad});
    title.impressions = std::max<std::int64_t>(0, title.impressions - title.on_way);
    const std::int64_t samples = up(static_cast<double>(title.impressions) / figures.sample_every);
    if (samples <= title.samples) break;
    title.samples = samples;
  }
}

/// Chance that at least `wanted` of the begun come out good.
double come_out(std::int64_t wanted, std::int64_t begun, double yield) {
  return wanted <= 0 ? 1.0 : 1.0 - stats::binomial_cdf(wanted - 1, begun, yield);
}

/// Mothers and fathers for the stampers begun; `chance` is lessened by the risk that they fail.
void grow_parents(SideMetal& side,
                  std::int64_t mothers,
                  std::int64_t fathers,
                  const NeedFigures& figures,
                  double risk,
                  double& chance) {
  const std::int64_t mothers_wanted =
      up(static_cast<double>(side.stampers_begun) / figures.stampers_per_mother) - mothers;
  side.mothers_begun = starts_for(mothers_wanted, figures.mother_yield, 1.0 - risk);
  const std::int64_t fathers_wanted =
      up(static_cast<double>(side.mothers_begun) / figures.mothers_per_father) - fathers;
  side.fathers_begun = starts_for(fathers_wanted, figures.father_yield, 1.0 - risk);
  chance *= come_out(mothers_wanted, side.mothers_begun, figures.mother_yield) *
            come_out(fathers_wanted, side.fathers_begun, figures.father_yield);
}

double discs_chance(const TitleNeed& title, const NeedFigures& figures, double asked) {
  // Where the scrap was counted the chance is the one asked for, or a little more.
  if (figures.scrap_seen_good + figures.scrap_seen_bad > 0.0) return asked;
  const std::int64_t wanted = title.quantity + title.kept + title.tests + title.samples;
  return come_out(wanted, title.impressions + title.on_way, 1.0 - figures.scrap);
}

void count_stock(TitleNeed& title, const NeedFigures& figures) {
  title.biscuits = title.impressions + title.warm_up;
  const auto closings = static_cast<double>(title.biscuits);
  title.compound_kg = closings * figures.biscuit_kg / (1.0 - figures.compound_loss);
  title.batches = up(title.compound_kg / figures.batch_kg);
  for (const auto& [name, share] : figures.recipe)
    title.ingredients_kg.emplace_back(name, share * title.compound_kg);
  title.labels = up(2.0 * closings / (1.0 - figures.label_spoil));
  title.sleeves = up(static_cast<double>(title.quantity) / (1.0 - figures.sleeve_spoil));
  title.cartons = up(static_cast<double>(title.quantity) / figures.carton_discs);
}

void count_hours(TitleNeed& title, const NeedFigures& figures) {
  Hours& hours = title.hours;
  for (const SideMetal* side : {&title.a, &title.b}) {
    const auto stampers = static_cast<double>(side->stampers_begun);
    hours.tank += stampers * figures.tank_h_stamper +
                  static_cast<double>(side->mothers_begun) * figures.tank_h_mother +
                  static_cast<double>(side->fathers_begun) * figures.tank_h_father;
    hours.bath += stampers * figures.facing_h;
    hours.bench += stampers * figures.bench_h_part;
  }
  hours.mixer = static_cast<double>(title.batches) * figures.mixer_h_batch;
  hours.press = static_cast<double>(title.biscuits) * figures.cycle_s / hour_s +
                title.mountings * figures.mounting_h;
  hours.listening = static_cast<double>(title.samples + title.tests) *
                    (2.0 * figures.side_min + figures.handling_min) / hour_min;
}

StamperDemand demand_of(const TitleNeed& title,
                        const NeedOrder& order,
                        const NeedFigures& figures) {
  return {.impressions = static_cast<double>(title.impressions),
          .warm_up = figures.warm_up,
          .unnoticed = figures.unnoticed,
          .hand_a = static_cast<int>(order.stampers_a),
          .hand_b = static_cast<int>(order.stampers_b),
          .age_a = order.age_a,
          .age_b = order.age_b,
          .yield = figures.stamper_yield};
}

Result<TitleNeed> need_of(const NeedOrder& order, const NeedRequest& request) {
  const NeedFigures& figures = request.figures;
  TitleNeed title;
  title.title = order.title;
  title.quantity = order.quantity;
  title.material = order.material;
  const double risk = 1.0 - request.confidence, of_discs = 1.0 - 0.25 * risk;
  const double of_parents = 0.05 * risk;
  title.on_way = order.on_way;
  title.tests = order.tested ? 0 : up(figures.test_pressings);
  title.kept = up(figures.kept);
  count_discs(title, figures, of_discs);
  // The parents' risk as it is at most; what they do not take of it is left over.
  const double parents = std::pow(1.0 - of_parents, 4.0);
  const double discs = discs_chance(title, figures, of_discs);
  title.a.in_hand = order.stampers_a;
  title.b.in_hand = order.stampers_b;
  if (title.impressions == 0) {  // nothing is left to press, so nothing to grow
    title.chance = discs;
    count_stock(title, figures);
    count_hours(title, figures);
    return title;
  }
  auto stampers = stamper_need(request.life,
                               demand_of(title, order, figures),
                               request.costs,
                               request.confidence / (discs * parents));
  if (!stampers) return Error{stampers.error().fault, order.title + ": " + stampers.error().text};
  title.stampers = std::move(*stampers);
  title.mountings = title.stampers.used_a + title.stampers.used_b - 1.0;
  title.warm_up = std::llround(figures.warm_up * title.mountings);
  title.a.stampers_begun = title.stampers.chosen.a;
  title.b.stampers_begun = title.stampers.chosen.b;
  title.a.used = title.stampers.used_a;
  title.b.used = title.stampers.used_b;
  title.chance = discs * title.stampers.chosen.enough;
  grow_parents(title.a, order.mothers_a, order.fathers_a, figures, of_parents, title.chance);
  grow_parents(title.b, order.mothers_b, order.fathers_b, figures, of_parents, title.chance);
  count_stock(title, figures);
  count_hours(title, figures);
  return title;
}

void add(SideMetal& sum, const SideMetal& one) {
  sum.in_hand += one.in_hand;
  sum.stampers_begun += one.stampers_begun;
  sum.mothers_begun += one.mothers_begun;
  sum.fathers_begun += one.fathers_begun;
  sum.used += one.used;
}

void add(TitleNeed& all, const TitleNeed& one) {
  all.quantity += one.quantity;
  all.tests += one.tests;
  all.kept += one.kept;
  all.samples += one.samples;
  all.impressions += one.impressions;
  all.on_way += one.on_way;
  all.warm_up += one.warm_up;
  all.mountings += one.mountings;
  add(all.a, one.a);
  add(all.b, one.b);
  all.chance *= one.chance;
  all.compound_kg += one.compound_kg;
  all.biscuits += one.biscuits;
  all.labels += one.labels;
  all.sleeves += one.sleeves;
  all.cartons += one.cartons;
  for (const auto& [name, kg] : one.ingredients_kg) {
    const auto held =
        std::ranges::find(all.ingredients_kg, name, [](const auto& each) { return each.first; });
    if (held == all.ingredients_kg.end())
      all.ingredients_kg.emplace_back(name, kg);
    else
      held->second += kg;
  }
  all.batches += one.batches;
  all.hours.tank += one.hours.tank;
  all.hours.bath += one.hours.bath;
  all.hours.bench += one.hours.bench;
  all.hours.mixer += one.hours.mixer;
  all.hours.press += one.hours.press;
  all.hours.listening += one.hours.listening;
}

/// Orders of one title as one, in the order in which titles first come.
std::vector<std::pair<NeedOrder, std::vector<std::string>>> by_title(
    std::span<const NeedOrder> orders) {
  std::vector<std::pair<NeedOrder, std::vector<std::string>>> titles;
  for (const NeedOrder& order : orders) {
    const auto held = std::ranges::find_if(
        titles, [&](const auto& one) { return one.first.title == order.title; });
    if (held == titles.end()) {
      titles.push_back({order, {order.order}});
      continue;
    }
    held->second.push_back(order.order);
    NeedOrder& sum = held->first;
    sum.quantity += order.quantity;
    sum.stampers_a += order.stampers_a;
    sum.stampers_b += order.stampers_b;
    sum.mothers_a += order.mothers_a;
    sum.mothers_b += order.mothers_b;
    sum.fathers_a += order.fathers_a;
    sum.fathers_b += order.fathers_b;
    sum.age_a = std::max(sum.age_a, order.age_a);
    sum.age_b = std::max(sum.age_b, order.age_b);
    sum.on_way += order.on_way;
    sum.tested = sum.tested && order.tested;
  }
  return titles;
}

}  // namespace

Result<Need> need(std::span<const NeedOrder> orders, const NeedRequest& request) {
  if (orders.empty()) return Error{Fault::bad_input, "no order; give one"};
  if (!(request.confidence >= 0.5 && request.confidence <= 0.9999))
    return Error{Fault::out_of_range,
                 fmt::format("a chance of {:g}; 50 to 99.99 %", request.confidence)};
  for (const NeedOrder& order : orders)
    if (const auto checked = check(order); !checked) return checked.error();
  Need made{.confidence = request.confidence};
  made.all.chance = 1.0;
  for (const auto& [order, names] : by_title(orders)) {
    auto title = need_of(order, request);
    if (!title) return title.error();
    title->orders = names;
    add(made.all, *title);
    made.titles.push_back(std::move(*title));
  }
  return made;
}

}  // namespace goodside::plan
