#include "plan/sampling_tables.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

namespace goodside::plan {
namespace {

constexpr std::array<double, 26> limits{0.010, 0.015, 0.025, 0.040, 0.065, 0.10, 0.15,  0.25,  0.40,
                                        0.65,  1.0,   1.5,   2.5,   4.0,   6.5,  10.0,  15.0,  25.0,
                                        40.0,  65.0,  100.0, 150.0, 250.0, 400., 650.0, 1000.0};
constexpr std::string_view letters = "ABCDEFGHJKLMNPQRS";
constexpr int last_letter = 15;  // R; S is for tightened inspection alone
constexpr std::array<std::string_view, 7> levels{"S-1", "S-2", "S-3", "S-4", "I", "II", "III"};

// Largest lot of each row, and the letters of its levels in the order of `Level`.
struct LetterRow {
  std::int64_t to;
  std::string_view letters;
};
constexpr std::array<LetterRow, 15> letter_rows{{{8, "AAAAAAB"},
                                                 {15, "AAAAABC"},
                                                 {25, "AABBBCD"},
                                                 {50, "ABBCCDE"},
                                                 {90, "BBCCCEF"},
                                                 {150, "BBCDDFG"},
                                                 {280, "BCDEEGH"},
                                                 {500, "BCDEFHJ"},
                                                 {1200, "CCEFGJK"},
                                                 {3200, "CDEGHKL"},
                                                 {10000, "CDFGJLM"},
                                                 {35000, "CDFHKMN"},
                                                 {150000, "DEGJLNP"},
                                                 {500000, "DEGJMPQ"},
                                                 {INT64_MAX, "DEHKNQR"}}};

constexpr std::array<int, 17> sample_sizes{
    2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000, 3150};
constexpr std::array<int, 16> reduced_sizes{
    2, 2, 2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800};

struct Numbers {
  int accept, reject;
};
/// A cell of a table: a plan, or the way to the nearest one.
struct Cell {
  int arrow{};  ///< -1 to the letters above, 1 to those below, 0: a plan
  Numbers numbers{};
};

// Every table is one rule: with letter i and limit j counted from 0 its cells depend on s = i + j
// alone. From s = 17 on (and 14 or 15 for "none flawed") the numbers rise along these rows.
constexpr int zero_at = 14;
constexpr std::array<Numbers, 10> normal_numbers{
    {{1, 2}, {2, 3}, {3, 4}, {5, 6}, {7, 8}, {10, 11}, {14, 15}, {21, 22}, {30, 31}, {44, 45}}};
constexpr std::array<Numbers, 9> tightened_numbers{
    {{1, 2}, {2, 3}, {3, 4}, {5, 6}, {8, 9}, {12, 13}, {18, 19}, {27, 28}, {41, 42}}};
constexpr std::array<Numbers, 10> reduced_numbers{
    {{0, 2}, {1, 3}, {1, 4}, {2, 5}, {3, 6}, {5, 8}, {7, 10}, {10, 13}, {14, 17}, {21, 24}}};
constexpr std::array<Numbers, 7> reduced_1999{
    {{1, 2}, {2, 3}, {3, 4}, {5, 6}, {6, 7}, {8, 9}, {10, 11}}};

template <std::size_t n>
Cell row(const std::array<Numbers, n>& numbers, int s, int first) {
  if (s < first) return {1, {}};
  if (s - first >= static_cast<int>(n)) return {-1, {}};
  return {0, numbers[static_cast<std::size_t>(s - first)]};
}

/// The last two rows of numbers stand for letters A to E alone.
bool beyond(int s, int letter) {
  return s >= 25 && letter > 4;
}

Cell cell(Inspection inspection, Edition edition, int letter, int limit) {
  const int s = letter + limit;
  if (inspection == Inspection::tightened) {
    // Letter A has no plan of its own at a limit of 10: an arrow leads down.
    if (s == zero_at + 1 && letter > 0) return {0, {0, 1}};
    if (beyond(s, letter)) return {-1, {}};
    return row(tightened_numbers, s, 18);
  }
  if (s == zero_at) return {0, {0, 1}};
  if (s == zero_at + 1) return {-1, {}};
  if (beyond(s, letter)) return {-1, {}};
  if (inspection == Inspection::normal) return row(normal_numbers, s, 17);
  return edition == Edition::published ? row(reduced_numbers, s, 17) : row(reduced_1999, s, 18);
}

struct Found {
  int letter;
  Numbers numbers;
};
std::optional<Found> follow(Inspection inspection, Edition edition, int letter, int limit) {
  const int last = inspection == Inspection::tightened ? last_letter + 1 : last_letter;
  const Cell first = cell(inspection, edition, letter, limit);
  if (first.arrow == 0) return Found{letter, first.numbers};
  // An arrow that leads out of the table upwards turns round.
  for (const int way : {first.arrow, -first.arrow})
    for (int at = letter + way; at >= 0 && at <= last; at += way)
      if (const Cell there = cell(inspection, edition, at, limit); there.arrow == 0)
        return Found{at, there.numbers};
  return {};
}

struct TwoStages {
  Numbers first, second;
};
/// The double plan in the place of a single one, from memory (MIL-STD-105E, tables III).
std::optional<TwoStages> two_stages(Numbers single) {
  struct Row {
    Numbers single;
    TwoStages plan;
  };
  constexpr std::array<Row, 25> rows{
      {{{1, 2}, {{0, 2}, {1, 2}}},       {{2, 3}, {{0, 3}, {3, 4}}},
       {{3, 4}, {{1, 4}, {4, 5}}},       {{5, 6}, {{2, 5}, {6, 7}}},
       {{7, 8}, {{3, 7}, {8, 9}}},       {{8, 9}, {{3, 7}, {11, 12}}},
       {{10, 11}, {{5, 9}, {12, 13}}},   {{12, 13}, {{6, 10}, {15, 16}}},
       {{14, 15}, {{7, 11}, {18, 19}}},  {{18, 19}, {{9, 14}, {23, 24}}},
       {{21, 22}, {{11, 16}, {26, 27}}}, {{27, 28}, {{15, 20}, {34, 35}}},
       {{30, 31}, {{17, 22}, {37, 38}}}, {{41, 42}, {{23, 29}, {52, 53}}},
       {{44, 45}, {{25, 31}, {56, 57}}}, {{0, 2}, {{0, 2}, {0, 2}}},
       {{1, 3}, {{0, 3}, {0, 4}}},       {{1, 4}, {{0, 4}, {1, 5}}},
       {{2, 5}, {{0, 4}, {3, 6}}},       {{3, 6}, {{1, 5}, {4, 7}}},
       {{5, 8}, {{2, 7}, {6, 9}}},       {{7, 10}, {{3, 8}, {8, 12}}},
       {{10, 13}, {{5, 10}, {12, 16}}},  {{14, 17}, {{7, 12}, {18, 22}}},
       {{21, 24}, {{11, 17}, {26, 30}}}}};
  for (const Row& one : rows)
    if (one.single.accept == single.accept && one.single.reject == single.reject) return one.plan;
  return {};
}

int size_of(Inspection inspection, int letter) {
  const auto at = static_cast<std::size_t>(letter);
  return inspection == Inspection::reduced ? reduced_sizes[at] : sample_sizes[at];
}

Result<int> limit_index(double limit) {
  for (std::size_t j = 0; j < limits.size(); ++j)
    if (std::abs(limit - limits[j]) <= 1e-9 * limits[j]) return static_cast<int>(j);
  if (!std::isfinite(limit) || limit < limits.front() || limit > limits.back())
    return Error{
        Fault::bad_input,
        fmt::format("{:g} is no acceptance quality limit; they run from 0.01 to 1000", limit)};
  const auto* const above = std::ranges::upper_bound(limits, limit);
  return Error{
      Fault::bad_input,
      fmt::format("{:g} is no acceptance quality limit of the tables; the nearest are {:g} "
                  "and {:g}",
                  limit,
                  *(above - 1),
                  *above)};
}

std::vector<SamplingStage> stages(const TableRequest& request, const Found& found, bool& single) {
  const auto plan = two_stages(found.numbers);
  // Letter A, and reduced inspection to letter C, have no half of their sample.
  const bool halves = found.letter > (request.inspection == Inspection::reduced ? 2 : 0);
  single = !plan || !halves || found.numbers.accept + found.numbers.reject == 1;
  if (!request.two_stages || single)
    return {
        {size_of(request.inspection, found.letter), found.numbers.accept, found.numbers.reject}};
  const std::int64_t each = size_of(request.inspection, found.letter - 1);
  return {{each, plan->first.accept, plan->first.reject},
          {2 * each, plan->second.accept, plan->second.reject}};
}

}  // namespace

Result<Level> read_level(std::string_view typed) {
  for (std::size_t i = 0; i < levels.size(); ++i)
    if (typed == levels[i]) return static_cast<Level>(i);
  return Error{
      Fault::bad_input,
      fmt::format(
          "\"{}\" is no level; there are {}", typed.substr(0, 20), fmt::join(levels, ", "))};
}

std::string_view word(Level level) {
  return levels[static_cast<std::size_t>(level)];
}

std::string_view word(Inspection inspection) {
  constexpr std::array<std::string_view, 3> words{"normal", "tightened", "reduced"};
  return words[static_cast<std::size_t>(inspection)];
}

std::span<const double, 26> quality_limits() {
  return limits;
}

char code_letter(std::int64_t lot, Level level) {
  const auto* const found =
      std::ranges::find_if(letter_rows, [lot](const LetterRow& one) { return lot <= one.to; });
  return found->letters[static_cast<std::size_t>(level)];
}

Result<TablePlan> table_plan(const TableRequest& request) {
  if (request.lot < 2)
    return Error{Fault::bad_input,
                 fmt::format("a lot of {} discs; the tables begin at 2", request.lot)};
  const auto limit = limit_index(request.quality_limit);
  if (!limit) return limit.error();
  TablePlan plan{.letter = code_letter(request.lot, request.level)};
  const int letter = static_cast<int>(letters.find(plan.letter));
  const auto not_held = [&] {
    return Error{Fault::out_of_range,
                 fmt::format("letter {} at a limit of {:g} under {} inspection is not held here; "
                             "use normal inspection",
                             plan.letter,
                             request.quality_limit,
                             word(request.inspection))};
  };
  // The small samples of reduced inspection have cells of their own at the high limits.
  if (request.inspection == Inspection::reduced && letter < 3 && request.quality_limit > 15.0)
    return not_held();
  const auto found = follow(request.inspection, request.edition, letter, *limit);
  if (!found) return not_held();
  plan.plan_letter = letters[static_cast<std::size_t>(found->letter)];
  plan.stages = stages(request, *found, plan.one_stage);
  plan.one_stage = plan.one_stage && request.two_stages;
  if (plan.stages.back().heard >= request.lot && plan.stages.size() > 1)
    plan.stages = {
        {size_of(request.inspection, found->letter), found->numbers.accept, found->numbers.reject}};
  if (plan.stages.back().heard >= request.lot) {
    plan.whole_lot = true;
    plan.stages.back().heard = request.lot;
  }
  return plan;
}

}  // namespace goodside::plan
