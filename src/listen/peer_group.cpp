#include "listen/peer_group.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <optional>

#include "listen/features.hpp"
#include "listen/pieces.hpp"
#include "listen/place.hpp"

namespace goodside::listen {
namespace {

constexpr double least_capture_s = 5.0;
constexpr double as_long = 0.98;          // of the longest capture
constexpr double mono_side_share = 1e-5;  // 50 dB under both channels together
constexpr double feature_share = 0.25;    // of the work, for the progress told

double duration_s(const Peer& peer) {
  return static_cast<double>(peer.source->frames()) / peer.source->sample_rate_Hz();
}

Result<std::vector<Features>> hear_all(std::span<const Peer> peers,
                                       int jobs,
                                       const std::function<bool(double)>& go_on) {
  std::vector<Features> features(peers.size());
  std::atomic<std::size_t> done{0};
  const auto hear = [&](std::size_t /*worker*/, std::size_t i) -> Outcome {
    auto source = peers[i].source->again();
    if (!source) return source.error();
    auto heard = hear_features(**source, [&](double) { return go_on(-1.0); });
    if (!heard) {
      if (heard.error().fault == Fault::conflict) return heard.error();
      return Error{heard.error().fault, peers[i].name + ": " + heard.error().text};
    }
    features[i] = std::move(*heard);
    if (!go_on(static_cast<double>(++done) / static_cast<double>(peers.size())))
      return Error{Fault::conflict, "stopped before the end"};
    return Done{};
  };
  if (auto ran = run_pieces(peers.size(), jobs, hear); !ran) return ran.error();
  return features;
}

/// Captures in the order in which they would serve as the base.
std::vector<std::size_t> candidates(std::span<const Peer> peers) {
  double longest_s = 0.0;
  for (const Peer& peer : peers) longest_s = std::max(longest_s, duration_s(peer));
  std::vector<std::size_t> order(peers.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  const auto before = [&](std::size_t a, std::size_t b) {
    const bool long_a = duration_s(peers[a]) >= as_long * longest_s;
    const bool long_b = duration_s(peers[b]) >= as_long * longest_s;
    if (long_a != long_b) return long_a;
    if (!long_a) return duration_s(peers[a]) > duration_s(peers[b]);
    if (peers[a].source->channels() != peers[b].source->channels())
      return peers[a].source->channels() > peers[b].source->channels();
    return peers[a].source->sample_rate_Hz() > peers[b].source->sample_rate_Hz();
  };
  std::ranges::stable_sort(order, before);
  return order;
}

struct Laid {
  std::size_t base{};
  std::vector<Placement> placements;  // of each against the base; the base's own is empty
  std::size_t found{}, jumps{};
};

Laid lay_on(std::size_t base, const std::vector<Features>& features, double revolution_s) {
  Laid laid{base, std::vector<Placement>(features.size()), 0, 0};
  for (std::size_t i = 0; i < features.size(); ++i) {
    if (i == base) continue;
    laid.placements[i] = place(features[i], features[base], revolution_s);
    if (!laid.placements[i].found) continue;
    ++laid.found;
    laid.jumps += laid.placements[i].stretches.size() - 1;
  }
  return laid;
}

std::string listed(const std::vector<std::string>& names) {
  std::string text;
  for (std::size_t i = 0; i < names.size(); ++i)
    text += (i == 0 ? "" : i + 1 == names.size() ? " and " : ", ") + names[i];
  return text;
}

Error another_title(std::span<const Peer> peers,
                    const std::vector<bool>& follows,
                    std::size_t base) {
  std::vector<std::string> odd;
  for (std::size_t i = 0; i < peers.size(); ++i)
    if (i != base && !follows[i]) odd.push_back(peers[i].name);
  const bool many = odd.size() > 1;
  if (odd.size() + 1 == peers.size())
    return {
        Fault::bad_input,
        fmt::format(
            "{} and {} do not follow one another: they are of different titles or sides, or have "
            "too little in common; give captures of one cut",
            peers[base].name,
            listed(odd))};
  return {
      Fault::bad_input,
      fmt::format(
          "{} {} not follow the other captures: another title or side, or too short; leave {} out",
          listed(odd),
          many ? "do" : "does",
          many ? "them" : "it")};
}

Outcome check(std::span<const Peer> peers) {
  if (peers.size() < 2)
    return Error{Fault::bad_input, "one capture alone has no peers; give at least two of one cut"};
  if (peers.size() > most_peers)
    return Error{Fault::bad_input,
                 fmt::format("{} captures; at most {} vote together, and five are plenty",
                             peers.size(),
                             most_peers)};
  for (const Peer& peer : peers)
    if (duration_s(peer) < least_capture_s)
      return Error{Fault::bad_input,
                   peer.name + " is shorter than 5 s: too little to lay on the others"};
  return Done{};
}

}  // namespace

Result<PeerGroup> follow_peers(std::span<const Peer> peers,
                               const PeerSetting& setting,
                               const std::function<bool(double)>& go_on) {
  if (auto fit = check(peers); !fit) return fit.error();
  const auto features = hear_all(peers, setting.jobs, [&](double share) {
    return go_on(share < 0.0 ? share : feature_share * share);
  });
  if (!features) return features.error();
  for (std::size_t i = 0; i < peers.size(); ++i)
    for (std::size_t j = 0; j < i; ++j)
      if ((*features)[i].values == (*features)[j].values)
        return Error{
            Fault::bad_input,
            fmt::format("{} and {} are one recording: a copy would vote for itself; give it once",
                        peers[j].name,
                        peers[i].name)};

  std::optional<Laid> best;
  for (const std::size_t base : candidates(peers)) {
    Laid laid = lay_on(base, *features, setting.revolution_s);
    if (!best || laid.found > best->found ||
        (laid.found == best->found && laid.jumps < best->jumps))
      best = std::move(laid);
    if (best->found + 1 == peers.size() && best->jumps == 0) break;
  }
  std::vector<bool> follows(peers.size());
  for (std::size_t i = 0; i < peers.size(); ++i) follows[i] = best->placements[i].found;
  if (best->found + 1 < peers.size()) return another_title(peers, follows, best->base);

  PeerGroup group;
  group.base = best->base;
  group.tracks.resize(peers.size());
  for (const Features& one : *features) group.mono.push_back(one.side_share < mono_side_share);
  double done = 0.0;
  for (std::size_t i = 0; i < peers.size(); ++i) {
    if (i == group.base) continue;
    auto track = follow_side(*peers[i].source,
                             *peers[group.base].source,
                             best->placements[i],
                             {group.mono[group.base], setting.revolution_s, setting.jobs},
                             [&](double share) {
                               const double part =
                                   (done + share) / static_cast<double>(best->found);
                               return go_on(feature_share + (1.0 - feature_share) * part);
                             });
    if (!track) return track.error();
    done += 1.0;
    follows[i] = !track->stretches.empty();
    group.tracks[i] = std::move(*track);
  }
  follows[group.base] = true;
  if (std::ranges::find(follows, false) != follows.end())
    return another_title(peers, follows, group.base);
  return group;
}

}  // namespace goodside::listen
