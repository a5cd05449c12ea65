#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>

#include "dispatch/gs1.hpp"
#include "line/fill_cartons.hpp"
#include "line/order_state.hpp"
#include "line/plan_packing.hpp"
#include "line/record_desk.hpp"
#include "line/repack.hpp"
#include "line/reverse_entry.hpp"
#include "line/unit_contents.hpp"
#include "line/works_papers.hpp"

namespace goodside::line {
namespace {

using testing::HasSubstr;
using works::Place;

/// 120 good discs of one run on two spindles: 1-60 and 61-120.
class DispatchOfRecord : public test::RecordDesk {
 protected:
  void set_up_stock(const std::string& quantity = "100") {
    title = add("title", {{"name", "Fallen Leaves"}});
    side = add("side", {{"title", title}, {"letter", "A"}});
    stamper_a = add("part", {{"kind", "stamper"}, {"side", side}, {"origin", "bought"}});
    press = add("press", {{"name", "Press 1"}});
    batch = add("batch", {{"material", "vinyl"}, {"mass", "80 kg"}});
    mounting = code(mount(desk(), {.press = press, .stamper_a = stamper_a, .counter = 1000}));
    order = add("order", {{"title", title}, {"quantity", quantity}});
    run = add("run", {{"order", order}, {"press", press}});
    code(enter_approval(desk(),
                        {.order = order, .decision = "waived", .words = "a re-pressing; Ida"}));
    for (std::string* spindle : {&first, &second}) {
      *spindle = add("spindle", {});
      EXPECT_TRUE(
          press_discs(desk(), {.run = run, .quantity = 60, .batch = batch, .spindle = *spindle}));
    }
    EXPECT_TRUE(move_discs(desk(), {.run = run}, {Place::good_stock, "", "", {}}));
  }
  Filled filled(const Filling& filling) {
    auto done = fill_cartons(desk(), filling);
    EXPECT_TRUE(done.has_value()) << (done ? "" : done.error().text);
    return done ? *done : Filled{};
  }
  std::string close(const std::string& unit, std::int64_t counted, const std::string& prefix = "") {
    const auto done =
        close_unit(desk(), {.unit = unit, .counted = counted, .company_prefix = prefix});
    EXPECT_TRUE(done.has_value()) << (done ? "" : done.error().text);
    return done ? done->sscc : "";
  }
  OrderState state() {
    const auto now = order_state(record_, order);
    EXPECT_TRUE(now.has_value());
    return now.value_or(OrderState{});
  }
  CartonContents contents(const std::string& carton) {
    const auto unit = unit_contents(record_, carton);
    EXPECT_TRUE(unit.has_value());
    return unit->cartons.at(0);
  }
  template <class T>
  static std::string why(const Result<T>& result) {
    return result ? "it was taken" : result.error().text;
  }

  std::string side, first, second;
};
FOR_BOTH_STORES(DispatchOfRecord);

TEST_P(DispatchOfRecord, CartonsAreFilledInOrderAndKeepTheirSpindles) {
  set_up_stock();
  EXPECT_THAT(why(fill_cartons(desk(), {.from = order, .per_carton = 24})),
              HasSubstr("100 are ordered"));
  const Filled done = filled({.from = order, .per_carton = 25, .quantity = 75});
  ASSERT_EQ(done.cartons.size(), 3U);
  EXPECT_EQ(done.left, 45);
  const CartonContents third = contents(done.cartons[2].code);
  ASSERT_EQ(third.lines.size(), 1U);  // 51-60 and 61-75 touch: one exact range from two spindles
  EXPECT_EQ(third.lines[0].holding.impressions, (works::Impressions{51, 75}));
  EXPECT_EQ(third.lines[0].spindles, (std::vector{first, second}));
  EXPECT_EQ(ranges_text(third), run + " 51–75");
  EXPECT_FALSE(agree_most(desk(), order, 99, "too few").has_value());
  EXPECT_FALSE(agree_most(desk(), order, 120, "").has_value());
  ASSERT_TRUE(agree_most(desk(), order, 120, "Mrs Hill, by telephone"));
  EXPECT_EQ(dispatch::may_still_leave(state().count), 120);
  EXPECT_EQ(dispatch::still_owed(state().count), 100);
  // What no carton is full of stays good stock, or goes into a part carton that is called one.
  EXPECT_THAT(why(fill_cartons(desk(), {.from = run, .per_carton = 25, .quantity = 10})),
              HasSubstr("--part"));
  const Filled last = filled({.from = run, .per_carton = 25, .quantity = 10, .part = true});
  const std::string part = last.cartons[0].code;
  EXPECT_THAT(why(close_unit(desk(), {.unit = part, .counted = 10})), HasSubstr("--part"));
  EXPECT_TRUE(close_unit(desk(), {.unit = part, .counted = 10, .part = true}));
  EXPECT_THAT(why(fill_cartons(desk(), {.from = run, .per_carton = 25, .spindle = "SP-999-X"})),
              HasSubstr("no good stock"));
  for (const std::int64_t wrong : {-1, 0, 1001})
    EXPECT_FALSE(fill_cartons(desk(), {.from = order, .per_carton = wrong}).has_value());
  expect_closes();
}

TEST_P(DispatchOfRecord, ACartonIsClosedOnlyWhenItsCountAgrees) {
  set_up_stock();
  const std::string carton =
      filled({.from = order, .per_carton = 25, .quantity = 25}).cartons[0].code;
  EXPECT_THAT(why(close_unit(desk(), {.unit = carton, .counted = 24})), HasSubstr("ledger has 25"));
  EXPECT_THAT(why(close_unit(desk(), {.unit = carton, .counted = 26})), HasSubstr("ledger has 25"));
  EXPECT_THAT(
      why(close_unit(
          desk(), {.unit = carton, .counted = 25, .weighed_kg = 12.5, .lifting_limit_kg = 12.0})),
      HasSubstr("12.00 kg may be lifted"));
  EXPECT_THAT(
      why(move_discs(desk(),
                     {.run = run, .quantity = 1, .places = {Place::good_stock}, .at = first},
                     {Place::packed, carton, "", {}})),
      HasSubstr("1 more do not go in"));
  const std::string empty = add("carton", {{"order", order}, {"capacity", "25"}});
  EXPECT_THAT(why(close_unit(desk(), {.unit = empty, .counted = 0, .part = true})),
              HasSubstr("empty"));
  close(carton, 25);
  EXPECT_THAT(why(close_unit(desk(), {.unit = carton, .counted = 25})), HasSubstr("is closed"));
  expect_closes();
}

TEST_P(DispatchOfRecord, NumbersAreNeverTakenTwice) {
  set_up_stock();
  const auto cartons = filled({.from = order, .per_carton = 25, .quantity = 50}).cartons;
  const std::string one = close(cartons[0].code, 25, "0614141"),
                    two = close(cartons[1].code, 25, "0614141");
  EXPECT_NE(one, two);
  EXPECT_TRUE(dispatch::read_sscc(one).has_value());
  EXPECT_EQ(unit_of(record_, "(00)" + one).value(), cartons[0].code);
  EXPECT_THAT(why(open_unit(desk(), cartons[0].code, "")), HasSubstr("why"));
  ASSERT_TRUE(open_unit(desk(), cartons[0].code, "wrong sleeves"));
  EXPECT_THAT(why(unit_of(record_, one)), HasSubstr("no label"));
  EXPECT_FALSE(open_unit(desk(), cartons[0].code, "again").has_value());
  const std::string again = close(cartons[0].code, 25, "0614141");
  EXPECT_NE(again, one);
  EXPECT_NE(again, two);
  EXPECT_EQ(contents(cartons[0].code).sscc, again);
  // An entry that is taken back does not free its number either.
  const auto closed =
      close_unit(desk(),
                 {.unit = filled({.from = order, .per_carton = 25, .quantity = 25}).cartons[0].code,
                  .counted = 25,
                  .company_prefix = "0614141"});
  ASSERT_TRUE(closed);
  ASSERT_TRUE(reverse_entry(desk(), closed->head.seq, "wrong one"));
  EXPECT_THAT(why(unit_of(record_, closed->sscc)), HasSubstr("no label"));
  expect_closes();
}

TEST_P(DispatchOfRecord, DiscsAreSplitRepackedAndPulledOutAgain) {
  set_up_stock();
  const auto cartons = filled({.from = order, .per_carton = 25, .quantity = 75}).cartons;
  for (const auto& carton : cartons) close(carton.code, 25, "0614141");
  EXPECT_THAT(why(split_carton(desk(), {.carton = cartons[0].code, .quantity = 5})),
              HasSubstr("open it first"));
  ASSERT_TRUE(open_unit(desk(), cartons[0].code, "to be split"));
  EXPECT_THAT(why(split_carton(desk(), {.carton = cartons[0].code})), HasSubstr("would be empty"));
  const auto split =
      split_carton(desk(), {.carton = cartons[0].code, .impressions = works::Impressions{21, 25}});
  ASSERT_TRUE(split) << why(split);
  EXPECT_EQ(contents(split->code).discs, 5);
  EXPECT_EQ(ranges_text(contents(cartons[0].code)), run + " 1–20");
  EXPECT_THAT(why(take_out(desk(), {.carton = split->code, .to_carton = cartons[1].code})),
              HasSubstr("is closed"));
  ASSERT_TRUE(take_out(desk(), {.carton = split->code, .to_carton = cartons[0].code}));
  EXPECT_EQ(contents(cartons[0].code).discs, 25);
  close(cartons[0].code, 25, "0614141");

  // A suspect range over two cartons: both are opened, their numbers void, what stays is counted again.
  ASSERT_TRUE(hold(desk(), {.run = run, .impressions = works::Impressions{20, 30}}, "tick"));
  const std::string shipment = add("shipment", {{"order", order}, {"to", "Bath"}});
  EXPECT_THAT(why(ship(desk(), shipment, {cartons[1].code})), HasSubstr("suspect"));
  const std::string aside = add("spindle", {});
  const auto pulled = pull_suspects(desk(), {.from = run, .to_spindle = aside});
  ASSERT_TRUE(pulled) << why(pulled);
  EXPECT_EQ(pulled->discs, 11);
  ASSERT_EQ(pulled->cartons.size(), 2U);
  EXPECT_EQ(pulled->cartons[0].left + pulled->cartons[1].left, 39);
  EXPECT_TRUE(pulled->cartons[0].opened);
  EXPECT_TRUE(contents(cartons[0].code).sscc.empty());
  EXPECT_FALSE(contents(cartons[2].code).sscc.empty());
  EXPECT_FALSE(pull_suspects(desk(), {.from = run}).has_value());
  // Let go, they are good stock, not packed in a carton where they are no more.
  ASSERT_TRUE(release(desk(), {.run = run}));
  std::int64_t good = 0;
  ASSERT_TRUE(record_.read(
      [&](ledger::Reader& reader) { good = discs_at(reader, aside, Place::good_stock); }));
  EXPECT_EQ(good, 11);
  expect_closes();
}

TEST_P(DispatchOfRecord, AnOrderGoesToItsPlacesInPartsAndWhatIsOwedFollows) {
  set_up_stock();
  EXPECT_THAT(why(add_noun(desk(),
                           **works::find_kind("delivery"),
                           {{"order", order}, {"to", "Bath"}, {"quantity", "101"}})),
              HasSubstr("it is for 100"));
  const std::string bath = add("delivery", {{"order", order}, {"to", "Bath"}, {"quantity", "60"}});
  const std::string leeds =
      add("delivery", {{"order", order}, {"to", "Leeds"}, {"quantity", "40"}});
  const auto cartons = filled({.from = order, .per_carton = 20, .quantity = 100}).cartons;
  ASSERT_EQ(cartons.size(), 5U);
  for (const auto& carton : cartons) close(carton.code, 20);
  const auto shipment = [&](const std::string& delivery) {
    return add("shipment", {{"order", order}, {"delivery", delivery}, {"to", "there"}});
  };
  const auto pallet = stack_pallet(desk(), order, {cartons[0].code, cartons[1].code});
  ASSERT_TRUE(pallet) << why(pallet);
  const std::string one = shipment(bath);
  EXPECT_THAT(why(ship(desk(), one, {pallet->code})), HasSubstr("is open"));
  EXPECT_THAT(why(close_unit(desk(), {.unit = pallet->code, .counted = 1})), HasSubstr("has 2"));
  close(pallet->code, 2);
  EXPECT_THAT(why(ship(desk(), one, {cartons[0].code})), HasSubstr("stands on pallet"));
  EXPECT_THAT(why(ship(desk(), one, {pallet->code, cartons[0].code})), HasSubstr("twice"));
  ASSERT_TRUE(unstack(desk(), {cartons[1].code}));
  EXPECT_THAT(why(unstack(desk(), {cartons[1].code})), HasSubstr("no pallet"));
  EXPECT_THAT(why(ship(desk(), one, {pallet->code})), HasSubstr("is open"));
  const auto stacked = stack_pallet(desk(), order, {cartons[0].code});
  EXPECT_THAT(why(stacked), HasSubstr("stands on"));
  ASSERT_TRUE(unstack(desk(), {cartons[0].code}));
  const auto other = stack_pallet(desk(), order, {cartons[0].code, cartons[1].code});
  ASSERT_TRUE(other) << why(other);
  close(other->code, 2);
  const std::string pallet_code = other->code;
  EXPECT_THAT(why(ship(desk(), one, {pallet_code, cartons[2].code, cartons[3].code})),
              HasSubstr("too many"));
  ASSERT_TRUE(ship(desk(), one, {pallet_code}));
  EXPECT_THAT(why(ship(desk(), one, {cartons[2].code})), HasSubstr("has left"));
  ASSERT_TRUE(ship(desk(), shipment(leeds), {cartons[3].code, cartons[4].code}));
  EXPECT_EQ(dispatch::still_owed(state().count), 20);
  EXPECT_EQ(dispatch::still_owed(state().deliveries[0].count), 20);
  EXPECT_EQ(dispatch::still_owed(state().deliveries[1].count), 0);
  EXPECT_EQ(state().packed, 20);

  // Back, destroyed there, credited, and made good.
  const auto back =
      return_units(desk(), {.from = cartons[4].code, .quantity = 5, .reason = "tick"});
  ASSERT_TRUE(back) << why(back);
  EXPECT_EQ(dispatch::still_owed(state().deliveries[1].count), 5);
  EXPECT_FALSE(return_units(desk(), {.from = cartons[2].code, .reason = "not out"}).has_value());
  EXPECT_THAT(why(credit_discs(desk(), {.order = order, .reason = "x", .quantity = 26})),
              HasSubstr("still owed"));
  EXPECT_TRUE(
      credit_discs(desk(), {.order = order, .reason = "tick", .quantity = 5, .delivery = leeds}));
  EXPECT_EQ(dispatch::still_owed(state().deliveries[1].count), 0);
  const auto destroyed = credit_discs(desk(),
                                      {.order = order,
                                       .reason = "warped",
                                       .quantity = 3,
                                       .delivery = leeds,
                                       .destroyed_from = cartons[3].code});
  ASSERT_TRUE(destroyed) << why(destroyed);
  EXPECT_EQ(dispatch::still_owed(state().count), 20);
  EXPECT_EQ(discs_in("scrap"), 3);
  EXPECT_THAT(
      why(credit_discs(
          desk(),
          {.order = order, .reason = "x", .quantity = 30, .destroyed_from = cartons[3].code})),
      HasSubstr("not 30"));
  ASSERT_TRUE(ship(desk(), shipment(bath), {cartons[2].code}));
  EXPECT_EQ(dispatch::still_owed(state().count), 0);
  // Taking the credit back makes them owed again.
  ASSERT_TRUE(reverse_entry(desk(), destroyed->head.seq, "sent back after all"));
  EXPECT_EQ(discs_in("scrap"), 0);
  EXPECT_EQ(dispatch::still_owed(state().count), 0);
  EXPECT_EQ(state().count.credited, 5);
  expect_closes();
}

TEST_P(DispatchOfRecord, PapersSayWhatTheRecordHolds) {
  set_up_stock();
  const auto cartons = filled({.from = order, .per_carton = 25, .quantity = 50}).cartons;
  for (const auto& carton : cartons) close(carton.code, 25, "0614141");
  const std::string shipment = add("shipment", {{"order", order}, {"to", "Bath"}});
  ASSERT_TRUE(ship(desk(), shipment, {cartons[0].code, cartons[1].code}));
  const auto paper = works_paper(
      record_, {.kind = PaperKind::packing_list, .code = shipment, .works = "W", .date = "D"});
  ASSERT_TRUE(paper) << why(paper);
  const auto& table = paper->parts.at(1).table;
  ASSERT_EQ(table.rows.size(), 2U);
  EXPECT_EQ(table.rows[0][0], cartons[0].code);
  EXPECT_EQ(table.rows[0][3], run + " 1–25");
  EXPECT_THAT(why(works_paper(record_, {.kind = PaperKind::packing_list, .code = run})),
              HasSubstr("is no shipment"));
  EXPECT_THAT(why(works_paper(record_, {.kind = PaperKind::traveller, .code = shipment})),
              HasSubstr("part or run"));
  for (const PaperKind kind : {PaperKind::consignment_note, PaperKind::certificate})
    EXPECT_TRUE(works_paper(record_, {.kind = kind, .code = shipment})) << static_cast<int>(kind);
  EXPECT_TRUE(works_paper(record_, {.kind = PaperKind::traveller, .code = run}));
  EXPECT_TRUE(works_paper(record_, {.kind = PaperKind::traveller, .code = stamper_a}));
  EXPECT_TRUE(works_paper(record_, {.kind = PaperKind::weigh_up, .code = batch}));
  EXPECT_TRUE(works_paper(record_, {.kind = PaperKind::label_proof, .code = title}));
  const auto labels = works_labels(record_, {shipment}, "W");
  ASSERT_TRUE(labels) << why(labels);
  ASSERT_EQ(labels->size(), 2U);
  EXPECT_EQ(labels->at(0).count, "25 discs");
  EXPECT_EQ(labels->at(0).to, "Bath");
  EXPECT_FALSE(works_labels(record_, {run}, "W").has_value());
}

TEST_P(DispatchOfRecord, WhatIsTypedIsHeldAgainstTheStandards) {
  set_up_stock();
  const auto added = [&](const char* kind, const Typed& typed) {
    return why(add_noun(desk(), **works::find_kind(kind), typed));
  };
  EXPECT_THAT(added("title", {{"name", "x"}, {"gtin", "4006381333932"}}), HasSubstr("gtin: GTIN"));
  EXPECT_THAT(added("track", {{"side", side}, {"number", "1"}, {"name", "x"}, {"isrc", "GB-1"}}),
              HasSubstr("isrc: "));
  const std::string track = add("track",
                                {{"side", side},
                                 {"number", "1"},
                                 {"name", "x"},
                                 {"isrc", "gb-abc-26-00001"},
                                 {"duration", "3:42"}});
  ASSERT_TRUE(record_.read([&](ledger::Reader& reader) {
    EXPECT_EQ(ledger::text(ledger::at(reader.need("track", track), "isrc")), "GBABC2600001");
  }));
  EXPECT_THAT(added("order", {{"title", title}, {"quantity", "10"}, {"most", "9"}}),
              HasSubstr("most: "));
}

TEST(PlanPacking, TakesWhatIsToldAndNamesWhatIsUsual) {
  const auto plan =
      plan_packing({.format = "12in-33", .discs = 2410, .disc_mass_kg = 0.140}, usual_rules());
  ASSERT_TRUE(plan);
  EXPECT_EQ(plan->packing.carton.discs, 25);
  EXPECT_EQ(plan->packing.full_cartons, 96);
  EXPECT_EQ(plan->packing.last_carton_discs, 10);
  EXPECT_THAT(plan->usual, testing::Not(testing::Contains("disc mass")));
  EXPECT_THAT(plan->usual, testing::Contains("lifting limit"));
  // The same mass from thickness and density.
  const auto body = plan_packing(
      {.format = "12in-33", .discs = 1, .disc_thickness_m = 1.426e-3, .density_kg_per_m3 = 1380.0},
      usual_rules());
  EXPECT_NEAR(body->carton.disc.disc_mass_kg, 0.140, 1e-3);
  // A stated length is filled as far as the limit lets it.
  const auto row =
      plan_packing({.format = "12in-33", .discs = 100, .inner_length_m = 0.164}, usual_rules());
  EXPECT_EQ(row->packing.carton.discs, 41);
  EXPECT_FALSE(plan_packing({.format = "13in-33", .discs = 1}, usual_rules()).has_value());
  EXPECT_FALSE(
      plan_packing({.format = "12in-33", .discs = 1, .disc_mass_kg = 0.1, .disc_thickness_m = 1e-3},
                   usual_rules())
          .has_value());
  EXPECT_FALSE(
      plan_packing({.format = "12in-33", .discs = 1, .disc_thickness_m = 1e-3}, usual_rules())
          .has_value());
}

}  // namespace
}  // namespace goodside::line
