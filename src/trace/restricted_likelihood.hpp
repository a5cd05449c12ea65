#pragma once
#include <Eigen/Dense>
#include <Eigen/Sparse>
#include <cstddef>
#include <span>
#include <vector>

#include "trace/crossed_effects.hpp"

namespace goodside::trace {

/// The restricted likelihood of a crossed model, made ready for many values of its variances: all
/// products of the readings are taken once, and the factor's pattern is found once.
class RestrictedLikelihood {
 public:
  explicit RestrictedLikelihood(const CrossedModel&);

  /// What one evaluation finds. `determinants` = log|L|^2 + log|R|^2.
  struct Parts {
    double determinants{}, squares{};
  };
  /// relative[k] = t_k >= 0, the deviation of factor k over that of the residual.
  [[nodiscard]] Parts parts(std::span<const double> relative);
  /// -2 l at its best residual deviation.
  [[nodiscard]] double criterion(std::span<const double> relative);
  /// -2 l with the residual deviation given.
  [[nodiscard]] double criterion(std::span<const double> relative, double deviation);
  [[nodiscard]] double best_deviation(const Parts& parts) const;

  /// beta, and b of all levels in one row, at the values last evaluated.
  [[nodiscard]] Eigen::VectorXd fixed() const { return beta_; }
  [[nodiscard]] Eigen::VectorXd effects();
  /// Standard deviations of b given beta, in units of the residual's.
  [[nodiscard]] std::vector<double> effect_deviations();

  [[nodiscard]] std::size_t readings() const { return readings_; }
  [[nodiscard]] std::size_t freedom() const {
    return readings_ - static_cast<std::size_t>(xx_.cols());
  }
  /// Operations of one factorisation.
  [[nodiscard]] double work() const { return work_; }

 private:
  void scale(std::span<const double> relative);

  std::size_t readings_{};
  std::vector<Eigen::Index> factor_of_level_{};
  Eigen::SparseMatrix<double> zz_{}, scaled_{};
  Eigen::MatrixXd zx_{}, xx_{};
  Eigen::VectorXd zy_{}, xy_{};
  double yy_{}, work_{};
  Eigen::VectorXd lambda_{}, beta_{}, cu_{};
  Eigen::MatrixXd rzx_{};
  Eigen::SimplicialLLT<Eigen::SparseMatrix<double>> factor_{};
};

}  // namespace goodside::trace
