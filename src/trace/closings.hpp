#pragma once
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "works/holding.hpp"
#include "works/stamper_life.hpp"

namespace goodside::trace {

/// A stamper's own closings up to and with `impression`: its mountings' impressions added up.
/// `mounted` holds the ranges that the stamper pressed; they must not overlap.
[[nodiscard]] std::int64_t own_closings(std::span<const works::Impressions> mounted,
                                        std::int64_t impression);

/// A stamper whose end shows first on an impression that is known to lie in `onset`.
struct StamperHistory {
  works::StamperLife known{};  ///< its ages are filled in
  std::vector<works::Impressions> mounted{};
  std::optional<works::Impressions> onset{};  ///< none: good on every impression it pressed
};
/// Its life in its own closings: good up to the impression before the onset's first, ended with
/// the onset's last; without an onset good to the last of its mountings.
[[nodiscard]] works::StamperLife life_of(const StamperHistory&);

/// One disc's surface noise at the age of its stamper.
struct NoiseAtAge {
  double closings{}, noise_dB{};
};
/// An age known to lie between two others; none above: it has not come yet.
struct AgeReached {
  double above{};
  std::optional<double> to{};
};
/// When the line of a stamper's noise over its age comes up to `limit_dB`: the ages at which the
/// line's mean cannot be told from the limit [Fieller 1954],
///   | a + b t - limit | <= t(confidence; n - 2) s sqrt(1/n + (t - mean)^2 / Sxx).
/// An age that no reading has reached is not foretold: there the wear is still to come. None where
/// the line does not rise with that confidence. At least three readings, not all of one age.
[[nodiscard]] std::optional<AgeReached> worn_age(std::span<const NoiseAtAge>,
                                                 double limit_dB,
                                                 double confidence);

}  // namespace goodside::trace
