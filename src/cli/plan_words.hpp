#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "base/result.hpp"
#include "cli/args.hpp"
#include "cli/command.hpp"
#include "draw/curve_plot.hpp"
#include "plan/life_law.hpp"

namespace goodside::cli {

// What the commands of planning, acceptance and charts share.

/// "1 %", "0.35 %", "under 0.01 %": three figures of a share.
[[nodiscard]] std::string percent(double share);

/// A whole number from `low` to `high`, as a parser for Args::read.
struct WholeFrom {
  std::int64_t low{}, high{};
  Result<std::int64_t> operator()(std::string_view text) const;
};
/// A plain number from `low` to `high`.
struct NumberFrom {
  double low{}, high{};
  Result<double> operator()(std::string_view text) const;
};

/// --life-scale, --life-shape, --pull-at and --lives, which say how long stampers last.
[[nodiscard]] std::vector<Option> life_options();
struct GivenLife {
  plan::LifeBelief belief{};
  std::string whose{};  ///< where it comes from, a clause
};
/// From the options, or from a table of lives, or from the works' record where there is one and
/// neither was given. Errors: where nothing tells it, or it cannot be.
Result<GivenLife> given_life(const Args&);

/// Writes the picture named by --picture, where it is given.
Outcome save_picture(const Args&, const draw::CurvePicture&);

}  // namespace goodside::cli
