#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <deque>

#include "press/cycle.hpp"
#include "press/stack.hpp"

namespace goodside::press {
namespace {

constexpr int most_cycles = 200;
constexpr std::size_t memory = 5;
constexpr double come_back_K = 0.002;
constexpr double coldest_K = 250.0, hottest_K = 700.0;

Eigen::Map<const Eigen::VectorXd> vector(const State& state) {
  return {state.data(), static_cast<Eigen::Index>(state.size())};
}

}  // namespace

State uniform_state(const CycleSetup& setup, const Numerics& numerics) {
  const Stack stack{setup, numerics.refine};
  const std::size_t dies = stack.cells().size() - (stack.end_compound() - stack.first_compound());
  return State(dies, setup.compound.set_temperature_K);
}

Result<Periodic> periodic_state(const CycleSetup& setup,
                                const Numerics& numerics,
                                const State& guess) {
  State state = guess;
  if (const State uniform = uniform_state(setup, numerics); state.size() != uniform.size())
    state = uniform;
  std::deque<Eigen::VectorXd> states, moves;
  for (int cycle = 1; cycle <= most_cycles; ++cycle) {
    const State next = run_cycle(setup, state, {.numerics = numerics}).end;
    const Eigen::VectorXd at = vector(state), move = vector(next) - at;
    const double difference = move.cwiseAbs().maxCoeff();
    if (difference < come_back_K) return Periodic{state, cycle, difference};
    states.push_back(at);
    moves.push_back(move);
    if (states.size() > memory + 1) {
      states.pop_front();
      moves.pop_front();
    }
    Eigen::VectorXd mixed = at + move;
    if (const auto past = static_cast<Eigen::Index>(states.size()) - 1; past > 0) {
      Eigen::MatrixXd steps(at.size(), past), changes(at.size(), past);
      for (Eigen::Index i = 0; i < past; ++i) {
        const auto k = static_cast<std::size_t>(i);
        steps.col(i) = states[k + 1] - states[k];
        changes.col(i) = moves[k + 1] - moves[k];
      }
      const Eigen::VectorXd share = changes.colPivHouseholderQr().solve(move);
      mixed -= (steps + changes) * share;
      // A wild guess is no better than the plain next cycle.
      if (!mixed.allFinite() || mixed.minCoeff() < coldest_K || mixed.maxCoeff() > hottest_K)
        mixed = at + move;
    }
    state.assign(mixed.begin(), mixed.end());
  }
  return Error{Fault::not_converged,
               "the press does not come to repeat itself within 200 cycles; give the cycle as it "
               "runs, with steam and water that balance"};
}

}  // namespace goodside::press
