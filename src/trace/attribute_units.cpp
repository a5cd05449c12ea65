#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include "trace/attribute_parts.hpp"

namespace goodside::trace {

bool Attributor::worth_weighing(const Evidence& evidence, int number) const {
  const Unit& unit = index_.units[static_cast<std::size_t>(number)];
  if (unit.level != Level::press && unit.level != Level::batch) return true;
  std::int64_t low = std::numeric_limits<std::int64_t>::max(), high = 0;
  std::ptrdiff_t finds = 0;
  for (const int heard : evidence.discs) {
    const auto& units = index_.units_of[static_cast<std::size_t>(heard)];
    if (std::ranges::find(units, number) == units.end()) continue;
    const std::int64_t at = impression_[static_cast<std::size_t>(heard)];
    ++finds;
    low = std::min(low, at);
    high = std::max(high, at);
  }
  if (finds < 2) return false;
  const auto from = std::ranges::lower_bound(unit.members, low, {}, &Member::low);
  const auto to = std::ranges::upper_bound(unit.members, high, {}, &Member::low);
  return 10 * finds >= to - from;
}

/// Over the kinds of end.
double Attributor::log_of_all(const Node& node, const Axis& axis, std::size_t p) const {
  double sum = nothing;
  for (std::size_t kind = 0; kind < axis.ends.size(); ++kind)
    if (axis.ends[kind].share > 0.0)
      sum = log_add(sum, std::log(axis.ends[kind].share) + log_total(node.range(axis, p, kind)));
  return sum;
}

void Attributor::weigh_units(const Evidence& evidence, std::vector<Node>& nodes) const {
  std::vector<int> touched;
  for (const int heard : evidence.discs)
    for (const int u : index_.units_of[static_cast<std::size_t>(heard)]) touched.push_back(u);
  std::sort(touched.begin(), touched.end());
  touched.erase(std::unique(touched.begin(), touched.end()), touched.end());
  for (const int u : touched) {
    if (!worth_weighing(evidence, u)) continue;
    const Axis& axis = axes_[static_cast<std::size_t>(u)];
    constexpr std::size_t long_axis = 512;
    Node node = axis.edge.size() > long_axis && !axis.uncertain ? weigh_window(evidence, u)
                                                                : weigh_unit(evidence, u);
    for (std::size_t p = 0; p < detection_count; ++p)
      node.log_evidence[p] = log_of_all(node, axis, p);
    nodes.push_back(std::move(node));
  }
}

Attributor::Node Attributor::weigh_unit(const Evidence& evidence, int number) const {
  const auto u = static_cast<std::size_t>(number);
  const Unit& unit = index_.units[u];
  const Axis& axis = axes_[u];
  UnitLikelihood said{axis};
  for (const Member& member : unit.members) {
    const bool whole = index_.heard[static_cast<std::size_t>(member.heard)].whole;
    const bool found = evidence.find(member.heard) >= 0;
    if (whole && !found) continue;
    ByDetection ratio{};
    if (ratio_of(evidence, member.heard, ratio)) said.add(axis, member, ratio, 1.0);
    if (whole) said.add(axis, member, not_found(member.heard), -1.0);
  }
  said.finish();
  said.lay_under(bases_[u]);
  Node node{.unit = true, .number = number, .level = unit.level};
  node.from = std::move(said.from);
  node.upto = std::move(said.upto);
  node.together = std::move(said.together);
  node.blocks = said.blocks;
  return node;
}

/// Of a long axis only the cells near the finds: an onset or an end further off would have passed so
/// many discs without the fault that it weighs less than 1e-9 of the rest. All its discs are known
/// exactly.
Attributor::Node Attributor::weigh_window(const Evidence& evidence, int number) const {
  constexpr std::size_t margin = 64;
  const auto u = static_cast<std::size_t>(number);
  const Unit& unit = index_.units[u];
  const Axis& axis = axes_[u];
  const UnitLikelihood& base = bases_[u];
  const std::size_t cells = axis.edge.size();
  const auto cell_of = [&](std::int64_t impression) {
    return static_cast<std::size_t>(
        std::lower_bound(axis.edge.begin(), axis.edge.end(), impression) - axis.edge.begin());
  };
  std::vector<const Member*> changed;
  for (const int heard : evidence.discs) {
    const std::int64_t at = impression_[static_cast<std::size_t>(heard)];
    for (auto member = std::ranges::lower_bound(unit.members, at, {}, &Member::low);
         member != unit.members.end() && member->low == at;
         ++member)
      if (member->heard == heard) changed.push_back(&*member);
  }
  std::size_t low = cells - 1, high = 0;
  for (const Member* member : changed) {
    low = std::min(low, cell_of(member->low));
    high = std::max(high, cell_of(member->low));
  }
  low = low > margin ? low - margin : 0;
  high = std::min(cells, high + margin + 1);
  for (auto member = std::ranges::lower_bound(unit.members, axis.edge[low], {}, &Member::low);
       member != unit.members.end() && member->low <= axis.edge[high - 1];
       ++member)
    if (!index_.heard[static_cast<std::size_t>(member->heard)].whole &&
        evidence.find(member->heard) < 0)
      changed.push_back(&*member);

  Node node{.unit = true, .number = number, .level = unit.level};
  node.first = low;
  std::vector<ByDetection> at(high - low, ByDetection{});
  for (const Member* member : changed) {
    ByDetection ratio{};
    const bool counts = ratio_of(evidence, member->heard, ratio);
    const bool whole = index_.heard[static_cast<std::size_t>(member->heard)].whole;
    const ByDetection missed = not_found(member->heard);
    ByDetection& here = at[cell_of(member->low) - low];
    for (std::size_t p = 0; p < detection_count; ++p)
      here[p] += (counts ? touched_with(member->share, ratio[p]) : 0.0) -
                 (whole ? touched_with(member->share, missed[p]) : 0.0);
  }
  for (std::size_t p = 0; p < detection_count; ++p) {
    node.from.emplace_back(high - low, 0.0);
    node.upto.emplace_back(high - low + 1, 0.0);
    double from_here = 0.0;
    for (std::size_t k = high - low; k-- > 0;) {
      from_here += at[k][p];
      node.from[p][k] = base.from[p][low + k] + from_here;
      node.upto[p][k] = base.upto[p][low + k] - from_here;
    }
  }
  for (const Ends& ends : axis.ends) {
    const auto behind = ends.mass.begin() + static_cast<std::ptrdiff_t>(high);
    std::vector<double> mass(ends.mass.begin() + static_cast<std::ptrdiff_t>(low), behind);
    mass.push_back(std::accumulate(behind, ends.mass.end(), 0.0));
    node.end_mass.push_back(std::move(mass));
  }
  return node;
}

}  // namespace goodside::trace
