#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <utility>

#include "trace/attribute_parts.hpp"
#include "trace/grower_prior.hpp"
#include "trace/looks.hpp"

namespace goodside::trace {

void Attributor::place_children() {
  stamper_parent_.assign(static_cast<std::size_t>(index_.stampers), -1);
  stamper_place_.assign(stamper_parent_.size(), 0);
  grower_place_.assign(index_.growers.size(), 0);
  plays_before_.resize(index_.growers.size());
  for (std::size_t g = 0; g < index_.growers.size(); ++g) {
    plays_before_[g].push_back(0.0);
    for (std::size_t c = 0; c < index_.growers[g].children.size(); ++c) {
      const int child = index_.growers[g].children[c];
      plays_before_[g].push_back(plays_before_[g].back() + whole_plays(child));
      if (child < 0) {
        stamper_parent_[static_cast<std::size_t>(-1 - child)] = static_cast<int>(g);
        stamper_place_[static_cast<std::size_t>(-1 - child)] = c;
      } else {
        grower_place_[static_cast<std::size_t>(child)] = c;
      }
    }
  }
}

/// Plays under a stamper or grower that heard the place and are listed as partly heard.
double Attributor::partly_heard(int child, double programme_s) const {
  double looks = 0.0;
  if (child >= 0) {
    const auto g = static_cast<std::size_t>(child);
    if (some_partly_[g] != 0)
      for (const int next : index_.growers[g].children) looks += partly_heard(next, programme_s);
    return looks;
  }
  for (const Member& member : partly_[static_cast<std::size_t>(-1 - child)])
    for (const int p : index_.heard[static_cast<std::size_t>(member.heard)].plays)
      if (heard_at(plays_[static_cast<std::size_t>(p)], programme_s)) looks += member.share;
  return looks;
}

double Attributor::whole_plays(int child) const {
  return child < 0 ? whole_plays_[static_cast<std::size_t>(-1 - child)]
                   : grower_plays_[static_cast<std::size_t>(child)];
}

/// The most that a run of children can say for this part: children with a find, with what was heard
/// whole between them.
double Attributor::bound(int grower, const Children& known, const ByDetection& prior) const {
  const auto& before = plays_before_[static_cast<std::size_t>(grower)];
  double best = nothing;
  for (std::size_t p = 0; p < detection_count; ++p) {
    double run = 0.0, most = nothing;
    std::size_t behind = 0;
    for (const auto& [child, said] : known) {
      run = std::max(0.0, run + (before[child] - before[behind]) * missed_[p]) + said[p];
      most = std::max(most, run);
      behind = child + 1;
    }
    best = std::max(best, most + std::log(prior[p]));
  }
  return best + log_share_[static_cast<std::size_t>(
                    index_.growers[static_cast<std::size_t>(grower)].level)];
}

/// What a part says if all under it was touched.
ByDetection Attributor::all_of(int grower, const Children& known, double programme_s) const {
  const auto& part = index_.growers[static_cast<std::size_t>(grower)];
  double looks = whole_plays(grower) + partly_heard(grower, programme_s);
  ByDetection sum{};
  for (const auto& [child, said] : known) {
    looks -= whole_plays(part.children[child]) + partly_heard(part.children[child], programme_s);
    for (std::size_t p = 0; p < detection_count; ++p) sum[p] += said[p];
  }
  for (std::size_t p = 0; p < detection_count; ++p) sum[p] += looks * missed_[p];
  return sum;
}

Attributor::Node Attributor::weigh_grower(int grower,
                                          const Children& known,
                                          double programme_s) const {
  const Grower& part = index_.growers[static_cast<std::size_t>(grower)];
  const std::size_t children = part.children.size();
  Node node{.unit = false, .number = grower, .level = part.level};
  node.from.assign(detection_count, std::vector<double>(children, 0.0));
  node.upto.assign(detection_count, std::vector<double>(children + 1, 0.0));
  ByDetection behind{};
  auto next = known.rbegin();
  for (std::size_t c = children; c-- > 0;) {
    const bool found = next != known.rend() && next->first == c;
    const double looks =
        found ? 0.0 : whole_plays(part.children[c]) + partly_heard(part.children[c], programme_s);
    for (std::size_t p = 0; p < detection_count; ++p) {
      behind[p] += found ? next->second[p] : looks * missed_[p];
      node.from[p][c] = behind[p];
      node.upto[p][c] = -behind[p];
    }
    if (found) ++next;
  }
  const GrowerPrior prior = prior_of(part, beliefs_);
  for (std::size_t p = 0; p < detection_count; ++p) {
    node.log_evidence[p] = nothing;
    for (const auto& ending : prior.ends)
      if (ending.share > 0.0)
        node.log_evidence[p] = log_add(
            node.log_evidence[p],
            std::log(ending.share) + log_total(prior.range(ending, node.from[p], node.upto[p])));
  }
  return node;
}

void Attributor::weigh_growers(const Evidence& evidence,
                               const ByDetection& prior,
                               std::vector<Node>& nodes) const {
  constexpr double hopeless = -35.0;  // against the best so far: under the last digit of all sums
  std::map<int, Children, std::greater<>> touched;  // parents are numbered before their children
  double best = nothing;
  for (const Node& node : nodes) {
    for (std::size_t p = 0; p < detection_count; ++p)
      best = std::max(best,
                      node.log_evidence[p] + std::log(prior[p]) +
                          log_share_[static_cast<std::size_t>(node.level)]);
    if (node.level != Level::stamper) continue;
    const auto u = static_cast<std::size_t>(node.number);
    if (stamper_parent_[u] < 0) continue;
    ByDetection whole{};
    for (std::size_t p = 0; p < detection_count; ++p) whole[p] = node.from[p].front();
    touched[stamper_parent_[u]].emplace(stamper_place_[u], whole);
  }
  while (!touched.empty()) {
    const auto [g, known] = std::move(*touched.begin());
    touched.erase(touched.begin());
    const auto number = static_cast<std::size_t>(g);
    if (const int parent = index_.growers[number].parent; parent >= 0)
      touched[parent].emplace(grower_place_[number], all_of(g, known, evidence.programme_s));
    if (bound(g, known, prior) > best + hopeless)
      nodes.push_back(weigh_grower(g, known, evidence.programme_s));
  }
}

}  // namespace goodside::trace
