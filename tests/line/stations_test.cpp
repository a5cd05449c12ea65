#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <functional>

#include "line/record_desk.hpp"

namespace goodside::line {
namespace {

/// Several stations at once, each a process with a connection of its own.
class Stations : public test::RecordDesk {
 protected:
  struct Outcomes {
    int won{}, refused{}, broken{};
  };
  Outcomes together(int stations, const std::function<Outcome(const Desk&)>& act) {
    // No connection lives on over a fork: the children's would share its locks.
    static_cast<void>(ledger::Record{std::move(record_)});
    int gate[2];
    EXPECT_EQ(pipe(gate), 0);
    std::vector<pid_t> children;
    for (int n = 0; n < stations; ++n) {
      const pid_t child = fork();
      if (child == 0) {
        close(gate[1]);
        auto record = ledger::Record::open(store_.where(), false);
        if (!record) _exit(3);
        char go = 0;
        if (read(gate[0], &go, 1) != 0) _exit(4);  // ends when the parent closes it
        const auto done = act({*record, "station " + std::to_string(n), ledger::test::morning_ms});
        _exit(done                                                                  ? 0
              : done.error().fault == Fault::conflict && !done.error().text.empty() ? 1
                                                                                    : 2);
      }
      children.push_back(child);
    }
    close(gate[0]);
    close(gate[1]);
    Outcomes outcomes;
    for (const pid_t child : children) {
      int status = 0;
      waitpid(child, &status, 0);
      const int code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
      ++(code == 0 ? outcomes.won : code == 1 ? outcomes.refused : outcomes.broken);
    }
    record_ = store_.open();
    return outcomes;
  }
  static Outcome outcome(const auto& result) {
    if (result) return Done{};
    return result.error();
  }
};
FOR_BOTH_STORES(Stations);

TEST_P(Stations, ThatClaimTheSameStamperGetOneWinnerAndClearRefusals) {
  set_up();
  ASSERT_TRUE(unmount(desk(), {.mounting = mounting, .counter = 1000}));
  std::vector<std::string> presses;
  for (int n = 0; n < 4; ++n) presses.push_back(add("press", {{"name", "Press"}}));
  const auto outcomes = together(4, [&](const Desk& own) {
    const auto at = static_cast<std::size_t>(own.who.back() - '0');
    return outcome(mount(own, {.press = presses[at], .stamper_a = stamper_a, .counter = 1}));
  });
  EXPECT_EQ(outcomes.won, 1);
  EXPECT_EQ(outcomes.refused, 3);
  expect_closes();
}

TEST_P(Stations, ThatClaimTheSameImpressionsGetOneWinner) {
  set_up();
  const auto outcomes = together(4, [&](const Desk& own) {
    return outcome(press_discs(own, {.run = run, .quantity = 25, .from_impression = 1}));
  });
  EXPECT_EQ(outcomes.won, 1);
  EXPECT_EQ(outcomes.refused, 3);
  expect_closes();
}

TEST_P(Stations, ThatFillTheSameCartonGetOneWinner) {
  set_up();
  pressed(100);
  ASSERT_TRUE(move_discs(desk(), {.run = run}, {works::Place::good_stock, "", "", {}}));
  const std::string carton = add("carton", {{"order", order}, {"capacity", "25"}});
  const auto outcomes = together(4, [&](const Desk& own) {
    return outcome(
        move_discs(own, {.run = run, .quantity = 25}, {works::Place::packed, carton, "", {}}));
  });
  EXPECT_EQ(outcomes.won, 1);
  EXPECT_EQ(outcomes.refused, 3);
  EXPECT_EQ(discs_in("packed"), 25);
  expect_closes();
}

TEST_P(Stations, ThatPressAtOnceLoseNothing) {
  set_up();
  const auto outcomes = together(4, [&](const Desk& own) {
    for (int n = 0; n < 15; ++n)
      if (const auto done = outcome(press_discs(own, {.run = run, .quantity = 2})); !done)
        return done;
    return Outcome{Done{}};
  });
  EXPECT_EQ(outcomes.won, 4);
  EXPECT_EQ(discs_in("pressed"), 4 * 15 * 2);
  expect_closes();
}

}  // namespace
}  // namespace goodside::line
