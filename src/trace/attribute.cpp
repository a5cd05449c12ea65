#include "trace/attribute.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include "trace/attribute_parts.hpp"
#include "trace/detectability.hpp"
#include "trace/grower_prior.hpp"
#include "trace/learn_beliefs.hpp"
#include "trace/looks.hpp"

namespace goodside::trace {
namespace {

constexpr double least_posterior = 1e-5;

}  // namespace

double Attribution::detection_mean() const {
  double mean = 0.0;
  for (std::size_t p = 0; p < detection_count; ++p) mean += detection[p] * detections[p];
  return mean;
}

Attributor::Attributor(const FamilyIndex& index,
                       std::span<const works::HeardPlay> plays,
                       const Coincidences& found,
                       std::vector<Said> said,
                       const Beliefs& beliefs)
    : index_{index}, plays_{plays}, found_{found}, said_{std::move(said)}, beliefs_{beliefs} {
  axes_.reserve(index.units.size());
  for (const Unit& unit : index.units) axes_.push_back(axis_of(unit, beliefs));
  for (std::size_t p = 0; p < detection_count; ++p)
    missed_[p] = touched_with(1.0 - mistaken, std::log(1.0 - detections[p]));
  bases_.reserve(index.units.size());
  for (std::size_t u = 0; u < index.units.size(); ++u) {
    bases_.emplace_back(axes_[u]);
    for (const Member& member : index.units[u].members)
      if (index.heard[static_cast<std::size_t>(member.heard)].whole)
        bases_.back().add(axes_[u], member, not_found(member.heard), 1.0);
    bases_.back().finish();
  }
  whole_plays_.assign(static_cast<std::size_t>(index.stampers), 0.0);
  partly_.resize(static_cast<std::size_t>(index.stampers));
  for (std::size_t u = 0; u < whole_plays_.size(); ++u)
    for (const Member& member : index.units[u].members) {
      const auto& heard = index.heard[static_cast<std::size_t>(member.heard)];
      if (heard.whole)
        whole_plays_[u] += member.share * static_cast<double>(heard.plays.size());
      else
        partly_[u].push_back(member);
    }
  grower_plays_.assign(index.growers.size(), 0.0);
  some_partly_.assign(index.growers.size(), 0);
  for (std::size_t g = index.growers.size(); g-- > 0;)
    for (const int child : index.growers[g].children) {
      grower_plays_[g] += whole_plays(child);
      const bool partly = child < 0 ? !partly_[static_cast<std::size_t>(-1 - child)].empty()
                                    : some_partly_[static_cast<std::size_t>(child)] != 0;
      if (partly) some_partly_[g] = 1;
    }
  place_children();
  impression_.assign(index.heard.size(), 0);
  for (const Unit& unit : index.units)
    for (const Member& member : unit.members)
      impression_[static_cast<std::size_t>(member.heard)] = member.low;
  for (std::size_t h = 0; h < index.heard.size(); ++h) {
    heard_whole_ += index.heard[h].whole && !index.heard[h].plays.empty() ? 1 : 0;
    if (!index.heard[h].whole) heard_partly_.push_back(static_cast<int>(h));
  }
  log_share_ = log_shares(nullptr);
}

Attributor::ByLevel Attributor::log_shares(const Attribution* before) const {
  ByLevel share = beliefs_.share;
  if (before != nullptr && teaches(*before))
    for (const Weighed& cause : before->causes) {
      double& of_level = share[static_cast<std::size_t>(cause.level)];
      of_level = std::max(
          1e-6, of_level - (1.0 - before->chance) * cause.posterior / beliefs_.share_counts);
    }
  double all = 0.0;
  for (std::size_t level = 0; level < level_count; ++level)
    if (index_.nodes[level] > 0) all += share[level];
  for (std::size_t level = 0; level < level_count; ++level)
    share[level] =
        index_.nodes[level] > 0 ? std::log(share[level] / all / index_.nodes[level]) : nothing;
  return share;
}

ByDetection Attributor::detection_of(const Evidence& evidence, const Attribution* before) const {
  ByLaw hearing = beliefs_.log_hearing;
  if (before != nullptr && teaches(*before))
    for (std::size_t law = 0; law < law_count; ++law) hearing[law] -= before->log_hearing[law];
  return detection_prior(hearing, evidence.above_dB);
}

std::vector<Attributor::Node> Attributor::nodes_of(const Evidence& evidence,
                                                   const ByLevel& log_share,
                                                   const ByDetection& prior,
                                                   double& log_sum) const {
  std::vector<Node> nodes;
  weigh_units(evidence, nodes);
  weigh_growers(evidence, prior, nodes);
  log_sum = nothing;
  for (Node& node : nodes)
    for (std::size_t p = 0; p < detection_count; ++p) {
      node.log_evidence[p] += log_share[static_cast<std::size_t>(node.level)] + std::log(prior[p]);
      log_sum = log_add(log_sum, node.log_evidence[p]);
    }
  return nodes;
}

double Attributor::log_odds(const Candidate& candidate) const {
  const Evidence evidence = evidence_of(candidate);
  double log_sum = nothing;
  static_cast<void>(nodes_of(evidence, log_share_, detection_of(evidence, nullptr), log_sum));
  return std::log(beliefs_.recurring) + evidence.log_place + log_sum;
}

void Attributor::fill(const Node& node, Weighed& cause) const {
  const Axis* axis = node.unit ? &axes_[static_cast<std::size_t>(node.number)] : nullptr;
  GrowerPrior prior;
  if (!node.unit) prior = prior_of(index_.growers[static_cast<std::size_t>(node.number)], beliefs_);
  const std::size_t kinds = node.unit ? axis->ends.size() : prior.ends.size();
  const std::size_t cells = node.from.front().size();
  const auto range = [&](std::size_t p, std::size_t kind) {
    return node.unit ? node.range(*axis, p, kind)
                     : prior.range(prior.ends[kind], node.from[p], node.upto[p]);
  };
  double all = nothing;
  for (const double one : node.log_evidence) all = log_add(all, one);
  std::vector<double> onset(cells, 0.0);
  std::vector<std::vector<double>> end(kinds, std::vector<double>(cells + 1, 0.0));
  for (std::size_t p = 0; p < detection_count; ++p) {
    const double weight = std::exp(node.log_evidence[p] - all);
    if (weight < 1e-9) continue;
    std::vector<RangePosterior> found;
    double both = nothing;
    for (std::size_t kind = 0; kind < kinds; ++kind) {
      found.push_back(posterior(range(p, kind)));
      const double share = node.unit ? axis->ends[kind].share : prior.ends[kind].share;
      found[kind].log_total += share > 0.0 ? std::log(share) : nothing;
      both = log_add(both, found[kind].log_total);
    }
    for (std::size_t kind = 0; kind < kinds; ++kind) {
      const double of_kind = weight * std::exp(found[kind].log_total - both);
      for (std::size_t k = 0; k < cells; ++k) onset[k] += of_kind * found[kind].onset[k];
      for (std::size_t k = 0; k <= cells; ++k) end[kind][k] += of_kind * found[kind].end[k];
    }
  }
  std::vector<double> ends;
  for (const auto& one : end) ends.push_back(std::accumulate(one.begin(), one.end(), 0.0));
  cause.ends = std::accumulate(ends.begin(), ends.end(), 0.0);
  const double steps = node.unit ? axis->ends[1].never : prior.ends[1].never;
  cause.may_be_mended = steps < 1.0;
  cause.mended = ends[1];
  if (!node.unit) {
    cause.first_child = onset;
    cause.since_birth = onset.empty() ? 0.0 : onset.front();
    double now = 0.0;
    for (std::size_t c = 0; c < cells; ++c) {
      now += onset[c];
      for (const auto& one : end) now -= one[c];
      cause.child.push_back(std::clamp(now, 0.0, 1.0));
    }
    return;
  }
  const auto spread = [&](const std::vector<double>& mass,
                          const std::vector<std::vector<Piece>>& cell,
                          const std::vector<double>& prior_mass,
                          std::vector<Piece>& out) {
    for (std::size_t k = 0; k < mass.size(); ++k)
      if (mass[k] > 1e-7)
        for (const Piece& piece : cell[node.first + k])
          out.push_back({piece.low, piece.high, piece.mass / prior_mass[node.first + k] * mass[k]});
  };
  spread(onset, axis->onset, axis->onset_mass, cause.onset);
  for (std::size_t kind = 0; kind < kinds; ++kind)
    spread(end[kind], axis->ends[kind].cell, axis->ends[kind].mass, cause.end);
  if (cells > 0 && node.first == 0 && axis->onset_mass[0] > 0.0)
    cause.since_birth = onset[0] * axis->birth / axis->onset_mass[0];
}

Attribution Attributor::explain(const Candidate& candidate, const Attribution* before) const {
  const Evidence evidence = evidence_of(candidate);
  Attribution result;
  double log_sum = nothing;
  const ByDetection prior = detection_of(evidence, before);
  const auto nodes = nodes_of(evidence, log_shares(before), prior, log_sum);
  result.log_odds = std::log(beliefs_.recurring) + evidence.log_place + log_sum;
  result.chance = 1.0 / (1.0 + std::exp(std::min(700.0, result.log_odds)));
  for (const Node& node : nodes) {
    double log_node = nothing;
    for (std::size_t p = 0; p < detection_count; ++p) {
      log_node = log_add(log_node, node.log_evidence[p]);
      result.detection[p] += std::exp(node.log_evidence[p] - log_sum);
    }
    Weighed cause{
        .level = node.level, .number = node.number, .posterior = std::exp(log_node - log_sum)};
    if (cause.posterior < least_posterior) continue;
    fill(node, cause);
    result.causes.push_back(std::move(cause));
  }
  ByDetection log_likelihood{};
  for (std::size_t p = 0; p < detection_count; ++p)
    log_likelihood[p] = std::log(std::max(1e-300, result.detection[p]) / prior[p]);
  result.log_hearing = likelihood_of_laws(log_likelihood, evidence.above_dB);
  std::stable_sort(result.causes.begin(),
                   result.causes.end(),
                   [](const Weighed& a, const Weighed& b) { return a.posterior > b.posterior; });
  const double likely = result.detection_mean();
  std::size_t nearest = 0;
  for (std::size_t p = 1; p < detection_count; ++p)
    if (std::abs(detections[p] - likely) < std::abs(detections[nearest] - likely)) nearest = p;
  for (std::size_t i = 0; i < evidence.discs.size(); ++i)
    if (evidence.ratio[i][nearest] > 0.0) {
      if (evidence.found[i] == Standing::stands) result.on.push_back(evidence.discs[i]);
      if (evidence.found[i] == Standing::said) ++result.spoken_of;
    }
  result.heard = heard_whole_;
  for (const int h : heard_partly_) {
    const bool there =
        std::ranges::any_of(index_.heard[static_cast<std::size_t>(h)].plays, [&](int p) {
          return heard_at(plays_[static_cast<std::size_t>(p)], candidate.programme_s);
        });
    result.heard += there ? 1 : 0;
    if (!there && !index_.heard[static_cast<std::size_t>(h)].plays.empty())
      result.not_heard.push_back(h);
  }
  return result;
}

}  // namespace goodside::trace
