#include <gtest/gtest.h>

#include <atomic>
#include <string>
#include <vector>

#include "listen/pieces.hpp"

namespace goodside::listen {
namespace {

TEST(RunPieces, DoesEveryPieceOnceForAnyNumberOfJobs) {
  for (const int jobs : {0, 1, 2, 3, 9}) {
    constexpr std::size_t count = 137;
    std::vector<std::atomic<int>> done(count);
    std::atomic<bool> worker_in_range{true};
    const auto outcome =
        run_pieces(count, jobs, [&](std::size_t worker, std::size_t piece) -> Outcome {
          if (worker >= workers_for(jobs, count)) worker_in_range = false;
          ++done[piece];
          return Done{};
        });
    EXPECT_TRUE(outcome.has_value());
    EXPECT_TRUE(worker_in_range);
    for (const auto& times : done) EXPECT_EQ(times, 1) << "jobs " << jobs;
  }
}

TEST(RunPieces, ReturnsTheFirstErrorAndStops) {
  for (const int jobs : {1, 2}) {
    std::atomic<int> calls{0};
    const auto outcome = run_pieces(100000, jobs, [&](std::size_t, std::size_t piece) -> Outcome {
      ++calls;
      if (piece == 5) return Error{Fault::io, "piece 5 broke"};
      return Done{};
    });
    ASSERT_FALSE(outcome.has_value());
    EXPECT_EQ(outcome.error().fault, Fault::io);
    EXPECT_EQ(outcome.error().text, "piece 5 broke");
    EXPECT_LT(calls, 100000);
    if (jobs == 1) {
      EXPECT_EQ(calls, 6);
    }
  }
}

TEST(RunPieces, HasNothingToDoWithoutPieces) {
  const auto outcome = run_pieces(0, 2, [](std::size_t, std::size_t) -> Outcome {
    return Error{Fault::io, "never asked"};
  });
  EXPECT_TRUE(outcome.has_value());
}

TEST(WorkersFor, NeverMoreThanPiecesNorFour) {
  EXPECT_EQ(workers_for(9, 100), 4U);
  EXPECT_EQ(workers_for(3, 2), 2U);
  EXPECT_EQ(workers_for(1, 100), 1U);
  EXPECT_EQ(workers_for(2, 0), 1U);
}

}  // namespace
}  // namespace goodside::listen
