#pragma once

namespace goodside::stats {

/// Comparisons won and lost, all of one weight.
struct Wins {
  int won{}, lost{};
};

/// The chance of a balance as good, or better, were every comparison a toss:
///   P(X + w Y >= (won - lost) + w (heavy won - heavy lost)),  X, Y sums of as many signs.
/// With light comparisons alone it is the exact one-sided sign test, as McNemar's. Counts >= 0,
/// weight > 0.
[[nodiscard]] double sign_test_chance(Wins light, Wins heavy, double weight);

}  // namespace goodside::stats
