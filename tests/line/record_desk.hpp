#pragma once
#include <gtest/gtest.h>

#include <memory>
#include <string>

#include "ledger/check.hpp"
#include "ledger/test_stores.hpp"
#include "line/add_noun.hpp"
#include "line/close_units.hpp"
#include "line/move_discs.hpp"
#include "line/part_life.hpp"
#include "line/press_discs.hpp"
#include "line/sample_tickets.hpp"
#include "line/ship_order.hpp"

namespace goodside::line::test {

/// A record of one kind with somebody at its desk, and an order with metal that was grown in the
/// house: lacquer, father, mother, a stamper for each side, all through the jobs.
class RecordDesk : public testing::TestWithParam<ledger::Connection::Kind> {
 protected:
  Desk desk() { return {record_, "Ida", ledger::test::morning_ms + ticks_++}; }

  static std::string code(const Result<Entered>& entered) {
    EXPECT_TRUE(entered.has_value()) << (entered ? "" : entered.error().text);
    return entered ? entered->code : "";
  }
  std::string add(const char* kind, const Typed& typed) {
    return code(add_noun(desk(), **works::find_kind(kind), typed));
  }
  void log(const std::string& part, std::initializer_list<works::Step> steps) {
    for (const works::Step step : steps)
      code(log_step(desk(), {.part = part, .step = step, .note = "by the book"}));
  }

  std::string part_on(const char* kind, const std::string& parent) {
    using enum works::Step;
    log(parent, {kind == std::string{"father"} ? silvered : passivated});
    const std::string part = add("part", {{"kind", kind}, {"parent", parent}});
    log(part, {works::Step::grown, separated});
    return part;
  }
  std::string stamper(const std::string& letter) {
    using enum works::Step;
    const std::string side = add("side", {{"title", title}, {"letter", letter}});
    const std::string cut = add("cut", {{"side", side}, {"reference", "cut-" + letter + ".wav"}});
    const std::string lacquer = add("part", {{"kind", "lacquer"}, {"cut", cut}});
    const std::string father = part_on("father", lacquer);
    log(father, {inspected});
    const std::string mother = part_on("mother", father);
    log(mother, {inspected});
    const std::string part = part_on("stamper", mother);
    log(part, {faced, backed, washed, centred, punched, trimmed, inspected});
    return part;
  }

  /// Up to a run that may start: the test is waived.
  void set_up() {
    title = add("title", {{"name", "Fallen Leaves"}});
    order = add("order", {{"title", title}, {"quantity", "500"}, {"customer", "Hill & Daughters"}});
    press = add("press", {{"name", "Press 1"}});
    batch = add("batch", {{"material", "vinyl"}, {"mass", "80 kg"}});
    stamper_a = stamper("A");
    stamper_b = stamper("B");
    mounting = code(mount(
        desk(), {.press = press, .stamper_a = stamper_a, .stamper_b = stamper_b, .counter = 1000}));
    run = add("run", {{"order", order}, {"press", press}});
    code(enter_approval(desk(),
                        {.order = order, .decision = "waived", .words = "a re-pressing; Ida"}));
  }
  Pressed pressed(std::int64_t quantity) {
    auto done = press_discs(desk(), {.run = run, .quantity = quantity, .batch = batch});
    EXPECT_TRUE(done.has_value()) << (done ? "" : done.error().text);
    return done ? *done : Pressed{};
  }

  void expect_closes() {
    const ledger::Checked checked = ledger::check(record_.connection(), {});
    EXPECT_TRUE(checked.closes()) << checked.breaks.front();
  }
  std::int64_t discs_in(const std::string& place) {
    for (const auto& [name, discs] : ledger::check(record_.connection(), {}).places)
      if (name == place) return discs;
    return 0;
  }

  ledger::test::TestStore store_{GetParam()};
  ledger::Record record_ = store_.open();
  std::int64_t ticks_{};
  std::string title, order, press, batch, stamper_a, stamper_b, mounting, run;
};

}  // namespace goodside::line::test

#define FOR_BOTH_STORES(suite)                                                     \
  INSTANTIATE_TEST_SUITE_P(                                                        \
      Both, suite, testing::ValuesIn(ledger::test::both), [](const auto& tested) { \
        return ledger::test::kind_name(tested.param);                              \
      })
