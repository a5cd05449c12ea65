#pragma once
#include <cstdint>
#include <limits>
#include <optional>
#include <span>
#include <vector>

namespace goodside::maths {

/// How the search for the least cost ended.
enum class Found {
  best,      ///< proved the least, within the gap that was asked for
  some,      ///< a limit struck: feasible, and `bound` says how much lower the least may lie
  none,      ///< proved that nothing meets the rows
  endless,   ///< the cost falls without end, or would without the whole numbers
  undecided  ///< a limit struck before anything feasible, or the numbers were too ill-matched
};

struct LinearSolution {
  Found found{Found::undecided};
  double cost{};  ///< of `values`; meaningless unless best or some
  double
      bound{};  ///< no cost can be lower; the cost itself when best without a gap; -endless if unknown
  std::vector<double> values;  ///< [variables], empty unless best or some
  /// [rows], d(cost)/d(the side of the row that holds it); 0 where the row holds nothing back. Empty
  /// with whole variables.
  std::vector<double> prices;

  [[nodiscard]] bool is_feasible() const { return found == Found::best || found == Found::some; }
};

/// Least cost over linear rows:
///     minimise  sum_j c_j x_j   with  low_i <= sum_j a_ij x_j <= high_i,  low_j <= x_j <= high_j,
/// some x_j whole numbers. Rows and variables count from 0 in the order they were added.
/// Source:   GLPK 5.0: primal and dual simplex; branch and cut for whole variables.
/// Accuracy: rows hold to about 1e-7 of their scale; bring variables near 1. `exactly` then checks and
///           mends the basis in rational arithmetic, for some hundred variables at most.
/// The same programme gives the same answer, save where the time limit strikes. Safe from several
/// threads, each with its own object.
class LinearProgramme {
 public:
  static constexpr double endless = std::numeric_limits<double>::infinity();

  struct Variable {
    double cost{};
    double low{0.0}, high{endless};  ///< -endless and endless leave a side open
    bool whole{false};
  };
  struct Term {
    int variable{};
    double factor{};
  };
  struct Limits {
    double time_s{60.0};  ///< for whole variables alone
    double gap{0.0};      ///< (cost - bound)/|cost| that is near enough, for whole variables
    std::int64_t nodes{std::numeric_limits<std::int64_t>::max()};  ///< of the tree; strikes alike
    std::optional<int>
        pivots{};         ///< of the first relaxation, solved by the dual method; strikes alike
    bool cuts{true};      ///< Gomory, rounding, cover and clique cuts, for whole variables
    bool exactly{false};  ///< without whole variables
  };

  /// Every number finite or, in a bound, endless, and low <= high (EXPECTS). Return the index.
  int add(const Variable& variable);
  /// Terms of one variable are added up.
  int constrain(std::span<const Term> terms, double low, double high);
  int constrain(std::initializer_list<Term> terms, double low, double high);

  [[nodiscard]] LinearSolution solve(const Limits& limits) const;
  [[nodiscard]] LinearSolution solve() const { return solve(Limits{}); }
  [[nodiscard]] int variables() const { return static_cast<int>(variables_.size()); }
  [[nodiscard]] int rows() const { return static_cast<int>(rows_.size()); }

 private:
  struct Row {
    double low, high;
  };
  struct Element {
    int row, variable;
    double factor;
  };

  friend class LinearSolver;
  std::vector<Variable> variables_;
  std::vector<Row> rows_;
  std::vector<Element> elements_;
};

}  // namespace goodside::maths
