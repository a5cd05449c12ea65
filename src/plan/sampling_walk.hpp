#pragma once
#include <cstdint>
#include <span>
#include <vector>

namespace goodside::plan {

/// One stage of a sampling plan: after `heard` discs in all, flawed ones counted over all stages:
/// ship at `accept` or fewer, hold at `reject` or more, else hear the next stage. Behind the last
/// stage what lies between the two is shipped too (reduced inspection: and the next lot goes back to
/// normal).
struct SamplingStage {
  std::int64_t heard{}, accept{}, reject{};
  bool operator==(const SamplingStage&) const = default;
};

/// A plan disc by disc: after disc m (index m - 1) ship at `ship_at` flawed or fewer, -1: never here;
/// hold at `hold_at` or more. The last entry decides every count.
struct Boundaries {
  std::vector<std::int64_t> ship_at{}, hold_at{};
  [[nodiscard]] std::int64_t most() const { return static_cast<std::int64_t>(ship_at.size()); }
};

/// Stages with heard > 0 and rising. `stop_early`: ends as soon as nothing that could still be heard
/// would change the verdict; who hears disc by disc loses nothing by it.
[[nodiscard]] Boundaries boundaries_of(std::span<const SamplingStage>, bool stop_early);

/// Where the discs come from: a lot of `lot` discs of which `flawed` are flawed; or, with lot = 0, a
/// process that makes flawed ones with the chance `share`.
struct DiscSource {
  std::int64_t lot{}, flawed{};
  double share{};
};

/// What a plan does, in the mean over all ways to draw the discs.
struct WalkResult {
  double ships{}, holds{};
  double heard_mean{};          ///< discs heard until the verdict
  double flawed_shipped{};      ///< of lots: flawed ones not heard and shipped, a lot
  double inspected_mean{};      ///< of lots: discs heard where a held lot is heard whole
  std::vector<double> stops{};  ///< chance of the verdict after disc m (index m - 1)
};
/// What was heard before.
struct Heard {
  std::int64_t discs{}, flawed{};
};

/// Follows the chance of every count disc by disc: exact, hypergeometric for lots and binomial for a
/// process. A lot must hold as many discs as the boundaries are long. Cost: discs x width between
/// the boundaries. With `before` it goes on from there, which must be undecided.
[[nodiscard]] WalkResult walk(const Boundaries&, const DiscSource&, Heard before = {});

}  // namespace goodside::plan
