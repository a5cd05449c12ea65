#include "serve/standing.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <filesystem>
#include <random>

#include "line/move_discs.hpp"
#include "line/record_desk.hpp"
#include "line/reverse_entry.hpp"

namespace goodside::serve {
namespace {

class Following : public line::test::RecordDesk {
 protected:
  void SetUp() override {
    folder_ = (std::filesystem::temp_directory_path() /
               fmt::format("goodside_standing_{}_{}", ::getpid(), static_cast<int>(GetParam())))
                  .string();
    std::filesystem::create_directories(folder_);
    followed_ = open("followed.db");
  }
  void TearDown() override {
    followed_.reset();
    std::filesystem::remove_all(folder_);
  }

  std::unique_ptr<Standing> open(const std::string& name) {
    auto standing = Standing::open(folder_ + "/" + name);
    EXPECT_TRUE(standing.has_value());
    return std::move(*standing);
  }

  void follow(Standing& standing) {
    const auto read = record_.read([&](ledger::Reader& reader) { standing.follow(reader); });
    ASSERT_TRUE(read.has_value()) << read.error().text;
  }

  /// All that it tells, as text.
  std::string told(Standing& standing) {
    std::string out;
    for (const auto& [place, discs] : standing.all_places())
      if (discs != 0) out += fmt::format("{} {}\n", place, discs);
    for (const auto& [heard, count] : standing.all_tickets())
      if (count != 0) out += fmt::format("{} {}\n", heard, count);
    for (const auto& order_sum : standing.open_orders(10))
      out += fmt::format("{} {} {} w{} g{} b{}\n",
                         order_sum.code,
                         order_sum.quantity,
                         order_sum.made,
                         order_sum.waiting,
                         order_sum.good,
                         order_sum.bad);
    for (const HeardSum& side : standing.sides(0, 10)) {
      out +=
          fmt::format("{} {} {} {}\n", side.key, side.plays, side.passed, side.last_ms.value_or(0));
      for (const HeardSum& sum : standing.stampers(side.key))
        out += fmt::format(" {} {} {} {} {} {}\n",
                           sum.key,
                           sum.plays,
                           sum.passed,
                           sum.plain,
                           sum.slight,
                           sum.last_ms.value_or(0));
      for (const Play& play : standing.plays({.side = side.key, .limit = 1000}))
        out += fmt::format(" {} {} {} {}-{} {} {} {}\n",
                           play.report,
                           play.ticket,
                           play.stamper,
                           play.first,
                           play.last,
                           play.title_first.value_or(-1),
                           play.pass,
                           play.plain);
    }
    for (const std::string& ticket : standing.waiting_tickets(1000)) out += ticket + "\n";
    return out;
  }

  void expect_as_made_anew(int step) {
    const auto anew = open(fmt::format("anew{}.db", step));
    follow(*anew);
    ASSERT_EQ(told(*followed_), told(*anew)) << "after step " << step;
  }

  /// Somebody hears a disc, sometimes twice.
  void hear(const std::string& ticket, bool good, int number) {
    works::ListeningReport report;
    report.capture.path = fmt::format("{}.wav", number);
    report.capture.sha256 = fmt::format("{:064}", number);
    report.geometry = {"12in-33", 100.0 / 3.0, 0.146, 0.06, 1e-4};
    report.faults.resize(static_cast<std::size_t>(number % 3));
    static_cast<void>(line::hear_sample(desk(),
                                        {.ticket = ticket,
                                         .good = good,
                                         .report = report,
                                         .letter = number % 2 == 0 ? "A" : "B",
                                         .report_path = "reports/none",
                                         .report_sha256 = fmt::format("{:064}", number + 1000)})
                          .has_value());
  }

  std::string folder_;
  std::unique_ptr<Standing> followed_;
};
FOR_BOTH_STORES(Following);

// Property: brought forward entry by entry, mistakes and their reversals among them, it tells what the
// record tells when it is read as a whole.
TEST_P(Following, TellsWhatTheWholeRecordTells) {
  set_up();
  std::mt19937 random{20261126};
  const auto draw = [&](int low, int high) {
    return std::uniform_int_distribution<int>{low, high}(random);
  };
  std::vector<std::string> tickets;
  for (int step = 0; step < 120; ++step) {
    const int first = draw(1, 60);
    switch (draw(0, 6)) {
      case 0:
        static_cast<void>(
            line::press_discs(desk(), {.run = run, .quantity = draw(1, 20)}).has_value());
        break;
      case 1:
        if (const auto pulled = line::pull_sample(desk(), {.run = run, .first = first}))
          tickets.push_back(pulled->entered.code);
        break;
      case 2:
      case 3:
        if (!tickets.empty())
          hear(tickets[static_cast<std::size_t>(draw(0, static_cast<int>(tickets.size()) - 1))],
               draw(0, 3) > 0,
               draw(0, 40));
        break;
      case 4:
        static_cast<void>(line::move_discs(desk(),
                                           {.run = run,
                                            .impressions = works::Impressions{first, first + 9},
                                            .quantity = draw(1, 5)},
                                           {works::Place::good_stock, "", "", {}})
                              .has_value());
        break;
      case 5:
        static_cast<void>(
            line::hold(
                desk(), {.run = run, .impressions = works::Impressions{first, first + 5}}, "x")
                .has_value());
        break;
      default:
        static_cast<void>(
            line::reverse_entry(
                desk(), ledger::head_of(record_.connection()).seq - draw(0, 2), "mistake")
                .has_value());
    }
    follow(*followed_);
    if (step % 15 == 14) expect_as_made_anew(step);
  }
  EXPECT_GT(followed_->all_tickets().size(), 1U);
}

TEST_P(Following, ATitleMovesWithWhatTouchesIt) {
  set_up();
  follow(*followed_);
  const auto seq = [&] {
    follow(*followed_);
    return followed_->title_seq(title);
  };
  const auto before = seq();
  add("title", {{"name", "Another"}});
  EXPECT_EQ(seq(), before);
  static_cast<void>(pressed(10));
  const auto after_pressing = seq();
  EXPECT_GT(after_pressing, before);
  const auto ticket = line::pull_sample(desk(), {.run = run, .first = 5});
  EXPECT_GT(seq(), after_pressing);
  const auto after_ticket = seq();
  add("remark", {{"ticket", ticket->entered.code}, {"words", "a tick"}});
  EXPECT_GT(seq(), after_ticket);
}

TEST_P(Following, AnotherRecordIsReadAnew) {
  set_up();
  static_cast<void>(pressed(10));
  follow(*followed_);
  ledger::test::TestStore other_store{GetParam()};
  ledger::Record other = other_store.open();
  ASSERT_TRUE(
      other.write({5, "Ida", "x"}, [&](ledger::Writer& writer) { writer.set("works", "Other"); })
          .has_value());
  for (int k = 0; k < 40; ++k)
    ASSERT_TRUE(
        other
            .write({5, "Ida", "x"},
                   [&](ledger::Writer& writer) { writer.set("works", fmt::format("Other {}", k)); })
            .has_value());
  const auto read = other.read([&](ledger::Reader& reader) { followed_->begin(reader); });
  ASSERT_TRUE(read.has_value()) << read.error().text;
  EXPECT_EQ(followed_->open_order_count(), 0);
  EXPECT_TRUE(followed_->all_places().empty());
}

}  // namespace
}  // namespace goodside::serve
