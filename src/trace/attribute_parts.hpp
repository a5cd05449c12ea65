#pragma once
#include <algorithm>
#include <cstddef>
#include <limits>
#include <span>
#include <vector>

#include "trace/attribute.hpp"
#include "trace/range_scan.hpp"

namespace goodside::trace {

inline constexpr double nothing = -std::numeric_limits<double>::infinity();

/// What became of a disc's find.
enum class Standing { stands, was_dust, said };

/// What the discs say of one candidate: finds by disc; what is not listed was not found, where it
/// was heard.
struct Attributor::Evidence {
  double programme_s{};
  double log_place{};        ///< of integrating the place out
  double above_dB{};         ///< of the finds, over what is still listed
  std::vector<int> discs{};  ///< heard discs with a find or a remark, rising
  std::vector<ByDetection> ratio{};
  std::vector<Standing> found{};

  [[nodiscard]] int find(int heard) const {
    const auto at = std::lower_bound(discs.begin(), discs.end(), heard);
    return at == discs.end() || *at != heard ? -1 : static_cast<int>(at - discs.begin());
  }
};

struct Attributor::Node {
  bool unit{};
  int number{};
  Level level{};
  ByDetection log_evidence{};  ///< prior of the node included, that of detection too
  std::vector<std::vector<double>> from{}, upto{};  ///< by detection
  std::size_t blocks{1};
  std::vector<std::vector<double>> together{};  ///< by detection; empty: nought
  std::size_t first{};                          ///< cell of a unit's axis that from[0] is of
  /// By kind of end; of a window, what lies behind it in the last. Empty: the axis's.
  std::vector<std::vector<double>> end_mass{};

  /// Of a unit: with its axis.
  [[nodiscard]] Range range(const Axis& axis, std::size_t p, std::size_t kind) const {
    const std::size_t cells = from[p].size();
    return {
        .onset = std::span{axis.onset_mass}.subspan(first, cells),
        .end = end_mass.empty() ? std::span<const double>{axis.ends[kind].mass} : end_mass[kind],
        .never = axis.ends[kind].never,
        .survived = axis.ends[kind].survived,
        .from = from[p],
        .upto = upto[p],
        .blocks = blocks,
        .together = together.empty() ? std::span<const double>{} : together[p]};
  }
};

}  // namespace goodside::trace
