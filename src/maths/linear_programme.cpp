#include "maths/linear_programme.hpp"

#include <glpk.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/expects.hpp"

namespace goodside::maths {
namespace {

/// GLPK keeps an environment a thread; freeing it after each solve leaves nothing behind when the
/// thread ends.
class Problem {
 public:
  Problem() {
    glp_term_out(GLP_OFF);
    problem_ = glp_create_prob();
  }
  ~Problem() {
    glp_delete_prob(problem_);
    glp_free_env();
  }
  Problem(const Problem&) = delete;
  Problem& operator=(const Problem&) = delete;

  [[nodiscard]] glp_prob* get() const { return problem_; }

 private:
  glp_prob* problem_;
};

int kind_of(double low, double high) {
  if (low == high) return GLP_FX;
  if (std::isinf(low)) return std::isinf(high) ? GLP_FR : GLP_UP;
  return std::isinf(high) ? GLP_LO : GLP_DB;
}

bool are_bounds(double low, double high) {
  return low <= high && low < LinearProgramme::endless && high > -LinearProgramme::endless;
}

/// What the tree's search tells on its way.
struct Search {
  std::int64_t nodes_left;
  double bound{-LinearProgramme::endless};
};

void watch(glp_tree* tree, void* info) {
  auto& search = *static_cast<Search*>(info);
  if (const int node = glp_ios_best_node(tree); node != 0)
    search.bound = glp_ios_node_bound(tree, node);
  if (glp_ios_reason(tree) == GLP_ISELECT && search.nodes_left-- <= 0) glp_ios_terminate(tree);
}

Found of_relaxation(int status) {
  switch (status) {
    case GLP_OPT:
      return Found::best;
    case GLP_NOFEAS:
      return Found::none;
    case GLP_UNBND:
      return Found::endless;
    default:
      return Found::undecided;
  }
}

LinearSolution nothing() {
  LinearSolution none;
  none.found = Found::none;
  return none;
}

}  // namespace

class LinearSolver {
 public:
  explicit LinearSolver(const LinearProgramme& programme) : programme_{programme} { load(); }

  LinearSolution solve(const LinearProgramme::Limits& limits) {
    const bool has_whole =
        std::ranges::any_of(programme_.variables_, &LinearProgramme::Variable::whole);
    if (empty_) return nothing();
    return has_whole ? whole(limits) : continuous(limits.exactly);
  }

 private:
  void load() {
    glp_prob* problem = problem_.get();
    glp_set_obj_dir(problem, GLP_MIN);
    if (programme_.rows() > 0) glp_add_rows(problem, programme_.rows());
    if (programme_.variables() > 0) glp_add_cols(problem, programme_.variables());
    for (int row = 0; row < programme_.rows(); ++row) {
      const auto& [low, high] = programme_.rows_[static_cast<std::size_t>(row)];
      glp_set_row_bnds(problem, row + 1, kind_of(low, high), low, high);
    }
    for (int column = 0; column < programme_.variables(); ++column) {
      const auto& variable = programme_.variables_[static_cast<std::size_t>(column)];
      // GLPK wants whole bounds of whole variables.
      const double low = variable.whole ? std::ceil(variable.low) : variable.low;
      const double high = variable.whole ? std::floor(variable.high) : variable.high;
      empty_ = empty_ || low > high;
      if (!empty_) glp_set_col_bnds(problem, column + 1, kind_of(low, high), low, high);
      glp_set_obj_coef(problem, column + 1, variable.cost);
      if (variable.whole) glp_set_col_kind(problem, column + 1, GLP_IV);
    }
    load_matrix();
  }

  void load_matrix() {
    // GLPK counts from 1 and takes each place of the matrix once.
    std::map<std::pair<int, int>, double> places;
    for (const auto& [row, variable, factor] : programme_.elements_)
      places[{row, variable}] += factor;
    std::vector<int> rows{0}, columns{0};
    std::vector<double> factors{0.0};
    for (const auto& [place, factor] : places) {
      rows.push_back(place.first + 1);
      columns.push_back(place.second + 1);
      factors.push_back(factor);
    }
    glp_load_matrix(problem_.get(),
                    static_cast<int>(factors.size()) - 1,
                    rows.data(),
                    columns.data(),
                    factors.data());
  }

  LinearSolution continuous(bool exactly) {
    glp_prob* problem = problem_.get();
    glp_smcp how;
    glp_init_smcp(&how);
    how.msg_lev = GLP_MSG_OFF;
    glp_scale_prob(problem, GLP_SF_AUTO);
    glp_adv_basis(problem, 0);
    LinearSolution solution;
    if (glp_simplex(problem, &how) != 0) {
      // A basis that went singular on the way: once more from the plainest one.
      glp_std_basis(problem);
      if (glp_simplex(problem, &how) != 0) return solution;
    }
    if (exactly && glp_exact(problem, &how) != 0) return solution;
    solution.found = of_relaxation(glp_get_status(problem));
    if (!solution.is_feasible()) return solution;
    solution.cost = solution.bound = glp_get_obj_val(problem);
    for (int column = 1; column <= programme_.variables(); ++column)
      solution.values.push_back(glp_get_col_prim(problem, column));
    for (int row = 1; row <= programme_.rows(); ++row)
      solution.prices.push_back(glp_get_row_dual(problem, row));
    return solution;
  }

  /// Without the whole numbers, in so many pivots.
  Found relax(int pivots) {
    glp_smcp how;
    glp_init_smcp(&how);
    how.msg_lev = GLP_MSG_OFF;
    how.meth = GLP_DUALP;
    how.it_lim = pivots;
    return glp_simplex(problem_.get(), &how) == 0 ? of_relaxation(glp_get_status(problem_.get()))
                                                  : Found::undecided;
  }

  LinearSolution whole(const LinearProgramme::Limits& limits) {
    glp_prob* problem = problem_.get();
    Search search{.nodes_left = limits.nodes};
    glp_iocp how;
    glp_init_iocp(&how);
    how.msg_lev = GLP_MSG_OFF;
    how.presolve = GLP_ON;
    how.mip_gap = limits.gap;
    how.tm_lim = static_cast<int>(std::min(limits.time_s * 1e3, 2e9));
    how.gmi_cuts = how.mir_cuts = how.cov_cuts = how.clq_cuts = limits.cuts ? GLP_ON : GLP_OFF;
    how.cb_func = watch;
    how.cb_info = &search;
    if (limits.pivots) {
      const Found relaxed = relax(*limits.pivots);
      if (relaxed != Found::best)
        return {.found = relaxed, .bound = search.bound, .values = {}, .prices = {}};
      search.bound = glp_get_obj_val(problem);
      how.presolve = GLP_OFF;
    }
    const int stopped = glp_intopt(problem, &how);
    LinearSolution solution;
    solution.bound = search.bound;
    if (stopped == GLP_ENOPFS) solution.found = Found::none;
    if (stopped == GLP_ENODFS) solution.found = Found::endless;
    const int status = glp_mip_status(problem);
    if (status == GLP_NOFEAS) solution.found = Found::none;
    if (status != GLP_OPT && status != GLP_FEAS) return solution;
    solution.cost = glp_mip_obj_val(problem);
    const bool finished = stopped == 0 && status == GLP_OPT;
    const bool near_enough = stopped == GLP_EMIPGAP || finished;
    solution.found = near_enough ? Found::best : Found::some;
    solution.bound =
        finished && limits.gap == 0.0 ? solution.cost : std::min(search.bound, solution.cost);
    for (int column = 1; column <= programme_.variables(); ++column) {
      const double value = glp_mip_col_val(problem, column);
      const bool is_whole = programme_.variables_[static_cast<std::size_t>(column - 1)].whole;
      solution.values.push_back(is_whole ? std::round(value) : value);
    }
    return solution;
  }

  const LinearProgramme& programme_;
  Problem problem_;
  bool empty_{false};  ///< a whole variable has no whole number between its bounds
};

int LinearProgramme::add(const Variable& variable) {
  EXPECTS(std::isfinite(variable.cost) && are_bounds(variable.low, variable.high));
  variables_.push_back(variable);
  return variables() - 1;
}

int LinearProgramme::constrain(std::span<const Term> terms, double low, double high) {
  EXPECTS(are_bounds(low, high));
  for (const auto& [variable, factor] : terms) {
    EXPECTS(variable >= 0 && variable < variables() && std::isfinite(factor));
    elements_.push_back({rows(), variable, factor});
  }
  rows_.push_back({low, high});
  return rows() - 1;
}

int LinearProgramme::constrain(std::initializer_list<Term> terms, double low, double high) {
  return constrain(std::span{terms.begin(), terms.size()}, low, high);
}

LinearSolution LinearProgramme::solve(const Limits& limits) const {
  return LinearSolver{*this}.solve(limits);
}

}  // namespace goodside::maths
