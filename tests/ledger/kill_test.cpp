#include <gtest/gtest.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <random>
#include <thread>

#include "ledger/check.hpp"
#include "ledger/record.hpp"
#include "ledger/test_stores.hpp"

namespace goodside::ledger {
namespace {

class Killed : public testing::TestWithParam<Connection::Kind> {
 protected:
  test::TestStore store_{GetParam()};
};
INSTANTIATE_TEST_SUITE_P(Both, Killed, testing::ValuesIn(test::both), [](const auto& tested) {
  return test::kind_name(tested.param);
});

/// Presses and moves for ever, and says each acknowledged entry's number into the pipe.
[[noreturn]] void work(const std::string& where, const test::SmallWorks& works, int pipe) {
  auto record = Record::open(where, false);
  if (!record) _exit(3);
  for (int n = 0;; ++n) {
    const auto head = record->write({test::morning_ms + n, "Ida", "press"}, [&](Writer& writer) {
      const auto made = writer.stock(works.run).made();
      writer.add(works::kind_of_table("pressing"),
                 {{"run", works.run},
                  {"mounting", works.mounting},
                  {"first", made + 1},
                  {"last", made + 3}});
      writer.post({works.run,
                   {made + 1, made + 3},
                   3,
                   {works::Place::press, "", "", {}},
                   {works::Place::pressed, "", "", {}}});
      if (made > 3)
        writer.post({works.run,
                     {made - 2, made},
                     3,
                     {works::Place::pressed, "", "", {}},
                     {works::Place::good_stock, "", "", {}}});
    });
    if (!head) _exit(4);
    if (write(pipe, &head->seq, sizeof head->seq) != sizeof head->seq) _exit(5);
  }
}

TEST_P(Killed, AHundredTimesLosesNoAcknowledgedEntryAndLeavesNoHalfEntry) {
  test::SmallWorks works;
  {
    Record record = store_.open();
    works = test::make_small_works(record, 0);
  }
  std::mt19937 random{5};
  std::int64_t acknowledged = 1, killed = 0;
  for (int round = 0; round < 110; ++round) {
    int ends[2];
    ASSERT_EQ(pipe(ends), 0);
    const pid_t child = fork();
    ASSERT_GE(child, 0);
    if (child == 0) {
      close(ends[0]);
      work(store_.where(), works, ends[1]);
    }
    close(ends[1]);
    // It works on until it has said one to four entries, then dies somewhere in the next ones.
    std::int64_t seq = 0;
    for (auto wait = 1 + random() % 4; wait > 0 && read(ends[0], &seq, sizeof seq) == sizeof seq;
         --wait)
      acknowledged = std::max(acknowledged, seq);
    std::this_thread::sleep_for(std::chrono::microseconds{random() % 3000});
    kill(child, SIGKILL);
    int status = 0;
    waitpid(child, &status, 0);
    killed += WIFSIGNALED(status) ? 1 : 0;
    while (read(ends[0], &seq, sizeof seq) == sizeof seq)
      acknowledged = std::max(acknowledged, seq);
    close(ends[0]);
    if (round % 10 != 9) continue;  // the chain goes on over the others, so one look finds all
    Record record = store_.open();
    const Checked checked = check(record.connection(), {});
    ASSERT_TRUE(checked.closes()) << checked.breaks.front();
    ASSERT_GE(checked.head.seq, acknowledged);
  }
  EXPECT_GE(killed, 100);
  Record record = store_.open();
  const Checked checked = check(record.connection(), {});
  EXPECT_TRUE(checked.closes());
  EXPECT_GE(checked.head.seq, acknowledged);
  EXPECT_GT(acknowledged, 110);
}

// The disk is full: told in one sentence, nothing half-written, and with room again it goes on.
TEST(DiskFull, IsToldAndLeavesTheRecordWhole) {
  const test::TestStore store{Connection::Kind::sqlite};
  test::SmallWorks works;
  {
    Record record = store.open();
    works = test::make_small_works(record, 0);
  }
  int ends[2];
  ASSERT_EQ(pipe(ends), 0);
  const pid_t child = fork();
  ASSERT_GE(child, 0);
  if (child == 0) {
    signal(SIGXFSZ, SIG_IGN);
    const rlimit limit{700'000, 700'000};
    setrlimit(RLIMIT_FSIZE, &limit);
    auto record = Record::open(store.where(), false);
    if (!record) _exit(3);
    std::int64_t seq = 0;
    for (int n = 0; n < 20000; ++n) {
      const auto head = record->write({test::morning_ms + n, "Ida", "note"}, [&](Writer& writer) {
        writer.add(works::kind_of_table("remark"),
                   {{"run", works.run}, {"words", std::string(2000, 'x')}});
      });
      if (!head) {
        const bool told =
            head.error().fault == Fault::io && head.error().text.find("full") != std::string::npos;
        if (write(ends[1], &seq, sizeof seq) != sizeof seq) _exit(5);
        _exit(told ? 0 : 6);
      }
      seq = head->seq;
    }
    _exit(7);
  }
  close(ends[1]);
  int status = 0;
  std::int64_t acknowledged = 0;
  EXPECT_EQ(read(ends[0], &acknowledged, sizeof acknowledged),
            static_cast<ssize_t>(sizeof acknowledged));
  close(ends[0]);
  waitpid(child, &status, 0);
  ASSERT_TRUE(WIFEXITED(status));
  EXPECT_EQ(WEXITSTATUS(status), 0);
  Record record = store.open();
  const Checked checked = check(record.connection(), {});
  EXPECT_TRUE(checked.closes()) << checked.breaks.front();
  EXPECT_EQ(checked.head.seq, acknowledged);
  EXPECT_TRUE(record
                  .write({1, "Ida", "note"},
                         [&](Writer& writer) {
                           writer.add(works::kind_of_table("remark"),
                                      {{"run", works.run}, {"words", "room again"}});
                         })
                  .has_value());
}

}  // namespace
}  // namespace goodside::ledger
