#pragma once
#include <algorithm>
#include <random>

#include "line/record_desk.hpp"
#include "line/reverse_entry.hpp"

namespace goodside::line::test {

/// Stations that try whatever comes to mind, in any order: what is taken leaves a count that closes
/// and a log that is the record, what is refused leaves nothing.
class RandomHistory : public RecordDesk {
 protected:
  void live(std::uint32_t seed, int steps) {
    using works::Place;
    set_up();
    std::mt19937 random{seed};
    const auto draw = [&](int low, int high) {
      return std::uniform_int_distribution<int>{low, high}(random);
    };
    const std::string carton = add("carton", {{"order", order}, {"capacity", "60"}});
    std::vector<std::string> waiting;
    std::int64_t made = 0;
    int done = 0, refused = 0;
    const int look = std::max(20, steps / 40);
    const auto count = [&](bool taken) { ++(taken ? done : refused); };
    for (int step = 0; step < steps; ++step) {
      const int first = draw(1, static_cast<int>(made) + 2), last = first + draw(0, 40);
      const works::Impressions range{first, last};
      const std::optional<std::int64_t> quantity =
          draw(0, 1) == 0 ? std::nullopt : std::optional<std::int64_t>{draw(1, 12)};
      switch (draw(0, 9)) {
        case 0:
        case 1: {
          const auto taken =
              press_discs(desk(),
                          {.run = run,
                           .quantity = draw(1, 30),
                           .purpose = draw(0, 5) == 0 ? Purpose::warm_up : Purpose::run});
          if (taken) made = taken->last;
          count(taken.has_value());
          break;
        }
        case 2:
          count(move_discs(desk(),
                           {.run = run, .impressions = range, .quantity = quantity},
                           {Place::edge_finished, "", "", {}})
                    .has_value());
          break;
        case 3:
          count(move_discs(desk(),
                           {.run = run, .impressions = range, .quantity = quantity},
                           {Place::good_stock, "", "", {}})
                    .has_value());
          break;
        case 4:
          count(move_discs(desk(),
                           {.run = run, .impressions = range, .quantity = draw(1, 3)},
                           {Place::scrap, "", "edge", {}})
                    .has_value());
          break;
        case 5:
          count(move_discs(desk(),
                           {.run = run, .impressions = range, .quantity = quantity},
                           {Place::packed, carton, "", {}})
                    .has_value());
          break;
        case 6:
          count(hold(desk(), {.run = run, .impressions = range}, "noise").has_value());
          break;
        case 7:
          count(release(desk(),
                        {.run = run,
                         .impressions = draw(0, 1) == 0 ? std::nullopt : std::optional{range}})
                    .has_value());
          break;
        case 8: {
          const auto ticket = pull_sample(desk(), {.run = run, .first = first});
          if (ticket) waiting.push_back(ticket->entered.code);
          if (!waiting.empty() && draw(0, 1) == 0) {
            count(hear_sample(desk(), {.ticket = waiting.back(), .good = draw(0, 3) > 0})
                      .has_value());
            waiting.pop_back();
          }
          count(ticket.has_value());
          break;
        }
        default:
          if (draw(0, 2) == 0) {
            count(recount(desk(),
                          {.run = run, .places = {Place::good_stock}},
                          draw(0, static_cast<int>(made)),
                          "count")
                      .has_value());
          } else {
            const auto head = ledger::head_of(record_.connection());
            count(reverse_entry(desk(), head.seq - draw(0, 2), "mistake").has_value());
            const auto now = record_.connection().ask(
                "SELECT max(\"last\") FROM pressing WHERE coalesce(void, 0) = 0");
            made = ledger::whole(now[0][0]);
          }
      }
      if (step % look == look - 1) {
        const ledger::Checked checked = ledger::check(record_.connection(), {});
        ASSERT_TRUE(checked.closes()) << "after step " << step << ": " << checked.breaks.front();
        ASSERT_EQ(checked.impressions, made);
      }
    }
    expect_closes();
    EXPECT_GT(done, steps / 3);
    EXPECT_GT(refused, steps / 20);
  }
};

}  // namespace goodside::line::test
