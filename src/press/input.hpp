#pragma once
#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"
#include "press/setup.hpp"

namespace goodside::press {

/// How far a figure may be from what is written, as u runs from -1 to 1: value + u half,
/// value (1 + u half), or value half^u.
struct Spread {
  enum class Kind { none, absolute, relative, factor } kind{Kind::none};
  double half{};
};

/// One figure of a cycle by the name under which people set, vary and map it.
struct Input {
  enum class Group { disc, biscuit, press, side, cycle, compound, fit, limits };
  enum class Doubt { exact, tolerance, knowledge };  ///< from disc to disc; not known better

  std::string_view name, help;
  Group group{};
  Result<double> (*read)(std::string_view){};
  std::string_view unit;  ///< in which it is shown: (value + offset) * per_si
  double per_si{1.0}, offset{0.0};
  double (*get)(const CycleSetup&, std::size_t side){};
  void (*set)(CycleSetup&, std::size_t side, double value){};
  Doubt doubt{Doubt::exact};
  Spread plain{}, filled{};  ///< of vinyl and of compounds filled with mineral
  std::string_view source{};

  [[nodiscard]] double shown(double si) const { return (si + offset) * per_si; }
};

[[nodiscard]] std::span<const Input> inputs();
/// Errors: Fault::not_found with the nearest name.
[[nodiscard]] Result<const Input*> find_input(std::string_view name);

/// Sets one figure by name; `a.` or `b.` before a side's figure sets that side alone.
/// Errors: as the figure's reader, and Fault::not_found.
[[nodiscard]] Outcome set_input(CycleSetup&, std::string_view name, std::string_view text);
/// The same in SI, where the name is known; both sides.
void set_both(CycleSetup&, const Input&, double value);

/// The spread of an input in this setup: its fit's, twice the standard deviation, where it was
/// fitted.
[[nodiscard]] Spread spread_of(const CycleSetup&, const Input&);
/// The setup with that input moved by u of its spread, both sides alike.
[[nodiscard]] CycleSetup moved(const CycleSetup&, const Input&, const Spread&, double u);
/// The inputs that are in doubt in one of the ways asked for.
[[nodiscard]] std::vector<const Input*> in_doubt(const CycleSetup&,
                                                 bool tolerances,
                                                 bool knowledge);

}  // namespace goodside::press
