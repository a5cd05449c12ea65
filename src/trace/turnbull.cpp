#include "trace/turnbull.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <tuple>

namespace goodside::trace {
namespace {

constexpr double gap_allowed = 1e-7, least_share = 1e-5;
constexpr int most_iterations = 100000;

/// The order of ends at one age: an exact end begins, then what reaches to here ends, then what
/// lies above begins.
enum class Edge { exact_begin, end, open_begin };
struct Mark {
  double age{};
  Edge edge{};
  bool operator<(const Mark& other) const {
    return std::tie(age, edge) < std::tie(other.age, other.edge);
  }
};
Mark begin_of(const ObservedLife& life) {
  return {life.above, life.above == life.to ? Edge::exact_begin : Edge::open_begin};
}
Mark end_of(const ObservedLife& life) {
  return {life.to, Edge::end};
}

struct Stretch {
  Mark begin, end;
};

std::vector<Stretch> stretches(std::span<const ObservedLife> lives) {
  std::vector<Mark> marks;
  for (const auto& life : lives) {
    marks.push_back(begin_of(life));
    marks.push_back(end_of(life));
  }
  std::ranges::sort(marks, [](const Mark& a, const Mark& b) { return a < b; });
  std::vector<Stretch> found;
  for (std::size_t i = 0; i + 1 < marks.size(); ++i)
    if (marks[i].edge != Edge::end && marks[i + 1].edge == Edge::end)
      found.push_back({marks[i], marks[i + 1]});
  return found;
}

/// The stretches [from, to) that lie in a life.
struct Span {
  std::size_t from{}, to{};
};

std::vector<Span> spans(std::span<const ObservedLife> lives, const std::vector<Stretch>& found) {
  std::vector<Span> result;
  for (const auto& life : lives) {
    const auto from = std::ranges::partition_point(
        found, [&](const Stretch& one) { return one.begin < begin_of(life); });
    const auto to = std::ranges::partition_point(
        found, [&](const Stretch& one) { return !(end_of(life) < one.end); });
    result.push_back({static_cast<std::size_t>(from - found.begin()),
                      static_cast<std::size_t>(to - found.begin())});
  }
  return result;
}

/// What the shares say of the lives.
struct Weighing {
  std::vector<double> gain;  ///< d_j
  double log_likelihood{};
};

Weighing weigh(const std::vector<double>& shares, const std::vector<Span>& lives) {
  std::vector<double> up_to(shares.size() + 1, 0.0);
  for (std::size_t j = 0; j < shares.size(); ++j) up_to[j + 1] = up_to[j] + shares[j];
  std::vector<double> change(shares.size() + 1, 0.0);
  Weighing weighing;
  for (const auto& life : lives) {
    // Summed from the nearer end where the stretches are few, so that small shares keep their digits.
    double chance = up_to[life.to] - up_to[life.from];
    if (life.to - life.from <= 64) {
      chance = 0.0;
      for (std::size_t j = life.from; j < life.to; ++j) chance += shares[j];
    }
    weighing.log_likelihood += std::log(chance);
    change[life.from] += 1.0 / chance;
    change[life.to] -= 1.0 / chance;
  }
  double running = 0.0;
  for (std::size_t j = 0; j < shares.size(); ++j) {
    running += change[j];
    weighing.gain.push_back(running / static_cast<double>(lives.size()));
  }
  return weighing;
}

std::vector<double> once_more(const std::vector<double>& shares, const Weighing& weighing) {
  std::vector<double> next(shares.size());
  for (std::size_t j = 0; j < shares.size(); ++j)
    next[j] = shares[j] * std::max(weighing.gain[j], 0.0);
  return next;
}

/// Two steps taken as one longer step along the way they point, or nothing where a share would
/// vanish.
std::vector<double> extrapolated(const std::vector<double>& first,
                                 const std::vector<double>& second,
                                 const std::vector<double>& third) {
  double step = 0.0, bend = 0.0;
  for (std::size_t j = 0; j < first.size(); ++j) {
    const double r = second[j] - first[j], v = third[j] - second[j] - r;
    step += r * r;
    bend += v * v;
  }
  if (!(bend > 0.0)) return {};
  const double length = -std::max(1.0, std::sqrt(step / bend));
  std::vector<double> result(first.size());
  double sum = 0.0;
  for (std::size_t j = 0; j < first.size(); ++j) {
    const double r = second[j] - first[j], v = third[j] - second[j] - r;
    result[j] = first[j] - 2.0 * length * r + length * length * v;
    // A share at nought could never come back.
    if (!(result[j] > 0.0)) result[j] = 1e-3 * third[j];
    sum += result[j];
  }
  for (double& share : result) share /= sum;
  return result;
}

}  // namespace

Result<TurnbullCurve> turnbull(std::span<const ObservedLife> lives) {
  if (lives.empty()) return Error{Fault::bad_input, "no stamper's life is known"};
  const auto found = stretches(lives);
  const auto covered = spans(lives, found);
  const auto count = static_cast<double>(lives.size());

  TurnbullCurve curve;
  std::vector<double> shares(found.size(), 1.0 / static_cast<double>(found.size()));
  Weighing now = weigh(shares, covered);
  while (true) {
    curve.gap = count * (std::ranges::max(now.gain) - 1.0);
    if (curve.gap <= gap_allowed) break;
    if (++curve.iterations > most_iterations)
      return Error{Fault::not_converged, "the curve of lives did not settle"};
    const auto second = once_more(shares, now);
    const auto third = once_more(second, weigh(second, covered));
    auto next = third;
    Weighing then = weigh(next, covered);
    if (const auto longer = extrapolated(shares, second, third); !longer.empty()) {
      if (auto reached = weigh(longer, covered); reached.log_likelihood > then.log_likelihood) {
        next = longer;
        then = std::move(reached);
      }
    }
    shares = std::move(next);
    now = std::move(then);
  }
  curve.gap = std::max(curve.gap, 0.0);
  curve.log_likelihood = now.log_likelihood;
  for (std::size_t j = 0; j < found.size(); ++j)
    // Below this a share is what the iteration has not yet driven out.
    if (shares[j] > least_share)
      curve.steps.push_back({found[j].begin.age, found[j].end.age, shares[j]});
  return curve;
}

double TurnbullCurve::least_ended(double age) const {
  double sum = 0.0;
  for (const auto& step : steps)
    if (step.to_closings <= age) sum += step.share;
  return sum;
}

double TurnbullCurve::most_ended(double age) const {
  double sum = 0.0;
  for (const auto& step : steps)
    if (step.above_closings < age || (step.above_closings == age && step.to_closings == age))
      sum += step.share;
  return sum;
}

}  // namespace goodside::trace
