#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "line/origin.hpp"
#include "line/record_desk.hpp"
#include "line/reverse_entry.hpp"

namespace goodside::line {
namespace {

using testing::HasSubstr;
using works::Place;

class WorksRecord : public test::RecordDesk {};
FOR_BOTH_STORES(WorksRecord);

TEST_P(WorksRecord, AnOrderFromLacquerToShipmentClosesAndIsFoundAgain) {
  set_up();
  pressed(200);
  ASSERT_TRUE(press_discs(desk(), {.run = run, .quantity = 5, .purpose = Purpose::purge}));
  pressed(100);
  ASSERT_TRUE(move_discs(desk(), {.run = run}, {Place::edge_finished, "", "", {}}));
  ASSERT_TRUE(move_discs(desk(), {.run = run}, {Place::good_stock, "", "", {}}));
  ASSERT_TRUE(move_discs(desk(),
                         {.run = run, .impressions = works::Impressions{50, 60}, .quantity = 2},
                         {Place::scrap, "", "chip", {}}));
  const std::string carton = add("carton", {{"order", order}, {"capacity", "25"}});
  ASSERT_TRUE(move_discs(desk(),
                         {.run = run, .impressions = works::Impressions{1, 25}},
                         {Place::packed, carton, "", {}}));
  EXPECT_THAT(move_discs(desk(),
                         {.run = run, .impressions = works::Impressions{26, 26}},
                         {Place::packed, carton, "", {}})
                  .error()
                  .text,
              HasSubstr("do not go in"));
  EXPECT_FALSE(close_unit(desk(), {.unit = carton, .counted = 24}).has_value());
  ASSERT_TRUE(close_unit(desk(), {.unit = carton, .counted = 25}));
  const std::string shipment = add("shipment", {{"order", order}, {"to", "Hill & Daughters"}});
  ASSERT_TRUE(ship(desk(), shipment, {carton}));
  EXPECT_FALSE(ship(desk(), shipment, {carton}).has_value());
  expect_closes();
  EXPECT_EQ(discs_in("shipped"), 25);
  EXPECT_EQ(discs_in("scrap"), 7);
  EXPECT_EQ(discs_in("good stock"), 273);

  const Origin origin = origin_of(record_, run, 210).value();
  ASSERT_EQ(origin.side_a.size(), 4U);
  EXPECT_EQ(ledger::text(ledger::at(origin.side_a[0], "code")), stamper_a);
  EXPECT_EQ(ledger::text(ledger::at(origin.side_a[3], "kind")), "lacquer");
  EXPECT_EQ(ledger::text(ledger::at(*origin.cut_a, "reference")), "cut-A.wav");
  EXPECT_EQ(origin.age_a, 209);  // purge discs age the stamper too
  EXPECT_EQ(origin.of_title, 210);
  EXPECT_EQ(ledger::text(ledger::at(*origin.batch, "code")), batch);
  ASSERT_EQ(origin.now.size(), 1U);
  EXPECT_EQ(origin.now[0].spot.place, Place::good_stock);
  EXPECT_EQ(origin_of(record_, run, 306).error().fault, Fault::not_found);

  const Whereabouts where = whereabouts(record_, stamper_b).value();
  EXPECT_EQ(where.impressions, 305);
  std::int64_t discs = 0;
  for (const Stock& stock : where.stock) discs += stock.holding.quantity;
  EXPECT_EQ(discs, 305);
  const std::string lacquer = ledger::text(ledger::at(origin.side_a[3], "code"));
  EXPECT_EQ(whereabouts(record_, lacquer).value().impressions, 305);
  EXPECT_EQ(whereabouts(record_, carton).value().impressions, 25);
}

TEST_P(WorksRecord, NoRunStartsWithoutApprovalOrWaiver) {
  set_up();
  const std::string other = add("order", {{"title", title}, {"quantity", "100"}});
  const std::string trial = add("run", {{"order", other}, {"press", press}, {"purpose", "test"}});
  const std::string wanted = add("run", {{"order", other}, {"press", press}});
  EXPECT_THAT(press_discs(desk(), {.run = wanted, .quantity = 10}).error().text,
              HasSubstr("not made yet"));
  ASSERT_TRUE(press_discs(desk(), {.run = trial, .quantity = 5}));
  const auto ticket = pull_sample(desk(), {.run = trial, .first = 3});
  ASSERT_TRUE(ticket.has_value()) << ticket.error().text;
  code(
      enter_approval(desk(), {.order = other, .decision = "sent", .ticket = ticket->entered.code}));
  EXPECT_THAT(press_discs(desk(), {.run = wanted, .quantity = 10}).error().text,
              HasSubstr("is sent"));
  EXPECT_FALSE(enter_approval(
      desk(), {.order = other, .decision = "refused", .ticket = ticket->entered.code}));
  code(enter_approval(
      desk(),
      {.order = other, .decision = "refused", .words = "hiss", .ticket = ticket->entered.code}));
  EXPECT_THAT(press_discs(desk(), {.run = wanted, .quantity = 10}).error().text,
              HasSubstr("refused"));
  EXPECT_FALSE(enter_approval(
      desk(), {.order = order, .decision = "approved", .ticket = ticket->entered.code}));
  code(enter_approval(desk(),
                      {.order = other, .decision = "approved", .ticket = ticket->entered.code}));
  EXPECT_TRUE(press_discs(desk(), {.run = wanted, .quantity = 10}));
  EXPECT_FALSE(enter_approval(desk(), {.order = other, .decision = "perhaps"}));
  expect_closes();
}

TEST_P(WorksRecord, WhatTheStateForbidsIsRefusedWithTheReason) {
  set_up();
  EXPECT_THAT(log_step(desk(), {.part = stamper_a, .step = works::Step::punched}).error().text,
              HasSubstr("it is on press, and must be finishing"));
  EXPECT_FALSE(mount(desk(), {.press = press, .stamper_a = stamper_a}).has_value());
  const std::string second = add("press", {{"name", "Press 2"}});
  EXPECT_THAT(mount(desk(), {.press = second, .stamper_a = stamper_a}).error().text,
              HasSubstr("on press"));
  EXPECT_FALSE(mount(desk(), {.press = second}).has_value());
  EXPECT_FALSE(unmount(desk(), {.mounting = mounting, .counter = 999}).has_value());
  ASSERT_TRUE(unmount(desk(), {.mounting = mounting, .counter = 1010, .reason = "cleaning"}));
  EXPECT_FALSE(unmount(desk(), {.mounting = mounting, .counter = 1010}).has_value());
  EXPECT_THAT(press_discs(desk(), {.run = run, .quantity = 1}).error().text,
              HasSubstr("nothing is mounted"));
  ASSERT_TRUE(mount(
      desk(), {.press = second, .stamper_a = stamper_a, .stamper_b = stamper_b, .counter = 7}));
  EXPECT_FALSE(log_step(desk(), {.part = stamper_a, .step = works::Step::scrapped, .note = "old"})
                   .has_value());
  EXPECT_FALSE(log_step(desk(), {.part = stamper_a, .step = works::Step::mounted}).has_value());
  // A stamper of another title is the wrong one.
  const std::string other_title = add("title", {{"name", "Other"}});
  const std::string other_side = add("side", {{"title", other_title}, {"letter", "A"}});
  const std::string wrong =
      add("part", {{"kind", "stamper"}, {"side", other_side}, {"origin", "bought"}});
  ASSERT_TRUE(mount(desk(), {.press = press, .stamper_a = wrong, .counter = 2000}));
  EXPECT_THAT(press_discs(desk(), {.run = run, .quantity = 1}).error().text,
              HasSubstr("wrong stamper"));
  expect_closes();
}

TEST_P(WorksRecord, OnlyOneThingGrowsOnAParentAtATime) {
  set_up();
  const std::string side = add("side", {{"title", title}, {"letter", "C"}});
  const std::string mother =
      add("part", {{"kind", "mother"}, {"side", side}, {"origin", "bought"}});
  EXPECT_THAT(
      add_noun(desk(), works::kind_of_table("part"), {{"kind", "stamper"}, {"parent", mother}})
          .error()
          .text,
      HasSubstr("passivated"));
  log(mother, {works::Step::passivated});
  const std::string first = add("part", {{"kind", "stamper"}, {"parent", mother}});
  EXPECT_THAT(
      add_noun(desk(), works::kind_of_table("part"), {{"kind", "stamper"}, {"parent", mother}})
          .error()
          .text,
      HasSubstr("another part is growing"));
  EXPECT_THAT(log_step(desk(), {.part = mother, .step = works::Step::washed}).error().text,
              HasSubstr("is growing on it"));
  log(first, {works::Step::grown, works::Step::separated});
  log(mother, {works::Step::passivated});
  const std::string second = add("part", {{"kind", "stamper"}, {"parent", mother}});
  EXPECT_EQ(ledger::whole(ledger::at(find_thing(record_, second)->row, "grown")), 2);
}

TEST_P(WorksRecord, APulledDiscHoldsEverythingSinceTheLastGoodOne) {
  set_up();
  pressed(100);
  const auto first = pull_sample(desk(), {.run = run, .first = 100});
  ASSERT_TRUE(first.has_value()) << first.error().text;
  EXPECT_EQ(first->held, 99);
  EXPECT_EQ(hear_sample(desk(), {.ticket = first->entered.code, .good = true}).value().released,
            99);
  pressed(50);
  const auto second = pull_sample(desk(), {.run = run, .first = 140});
  EXPECT_EQ(second->held, 49);
  EXPECT_EQ(
      hear_sample(desk(), {.ticket = second->entered.code, .good = false, .words = "tick at 3:12"})
          .value()
          .released,
      0);
  // The other side sounds well: the disc stays bad.
  EXPECT_EQ(hear_sample(desk(), {.ticket = second->entered.code, .good = true}).value().released,
            0);
  EXPECT_EQ(discs_in("suspect"), 49);
  EXPECT_EQ(discs_in("in sample"), 2);
  expect_closes();
  EXPECT_FALSE(pull_sample(desk(), {.run = run, .first = 151}).has_value());
  EXPECT_FALSE(pull_sample(desk(), {.run = run}).has_value());
  EXPECT_FALSE(
      pull_sample(desk(), {.run = run, .first = 100}).has_value());  // it was pulled before
}

TEST_P(WorksRecord, ACounterReadingTellsTheImpression) {
  set_up();
  ASSERT_TRUE(press_discs(desk(), {.run = run, .quantity = 40, .counter = 1040}));
  ASSERT_TRUE(press_discs(desk(), {.run = run, .quantity = 10, .counter = 1060}));
  EXPECT_EQ(pull_sample(desk(), {.run = run, .counter = 1055}).value().first, 45);
  EXPECT_EQ(pull_sample(desk(), {.run = run, .counter = 1045}).error().fault, Fault::not_found);
  EXPECT_FALSE(press_discs(desk(), {.run = run, .quantity = 100, .counter = 1050}).has_value());
}

TEST_P(WorksRecord, AHoldTakesAllThatMayBeAndLetsGoAgain) {
  set_up();
  pressed(100);
  ASSERT_TRUE(move_discs(desk(),
                         {.run = run, .impressions = works::Impressions{1, 60}},
                         {Place::good_stock, "", "", {}}));
  ASSERT_TRUE(move_discs(desk(),
                         {.run = run,
                          .impressions = works::Impressions{21, 40},
                          .quantity = 5,
                          .places = {Place::good_stock}},
                         {Place::scrap, "", "scuff", {}}));
  const auto held = hold(desk(), {.run = run, .impressions = works::Impressions{30, 70}}, "tick");
  ASSERT_TRUE(held.has_value()) << held.error().text;
  EXPECT_EQ(held->discs, 15 + 20 + 10);  // the 15 good ones of 21-40 may all be among 30-40
  EXPECT_FALSE(
      hold(desk(), {.run = run, .impressions = works::Impressions{90, 95}}, "").has_value());
  const auto gone = release(desk(), {.run = run, .reason = "tick"});
  EXPECT_EQ(gone->discs, held->discs);
  EXPECT_EQ(discs_in("good stock"), 55);
  EXPECT_EQ(discs_in("pressed"), 40);
  expect_closes();
}

TEST_P(WorksRecord, ARecountClosesWithItsReason) {
  set_up();
  pressed(100);
  ASSERT_TRUE(move_discs(desk(), {.run = run}, {Place::good_stock, "", "", {}}));
  EXPECT_EQ(recount(desk(), {.run = run, .places = {Place::good_stock}}, 97, "shelf").value().discs,
            3);
  EXPECT_EQ(discs_in("unaccounted"), 3);
  EXPECT_EQ(recount(desk(), {.run = run, .places = {Place::good_stock}}, 99, "two behind the shelf")
                .value()
                .discs,
            2);
  EXPECT_EQ(discs_in("good stock"), 99);
  EXPECT_EQ(discs_in("unaccounted"), 1);
  const auto before = ledger::head_of(record_.connection());
  EXPECT_EQ(recount(desk(), {.run = run, .places = {Place::good_stock}}, 99, "again").value().head,
            before);
  expect_closes();
}

TEST_P(WorksRecord, AnEntryIsTakenBackByAnotherThatNamesIt) {
  set_up();
  const auto twice = pressed(30);
  const auto moved = move_discs(desk(),
                                {.run = run, .impressions = works::Impressions{1, 10}},
                                {Place::good_stock, "", "", {}});
  ASSERT_TRUE(moved.has_value());
  // The pressing cannot go while discs of it have moved.
  EXPECT_FALSE(reverse_entry(desk(), twice.entered.head.seq, "entered twice").has_value());
  const auto back = reverse_entry(desk(), moved->head.seq, "wrong shelf");
  ASSERT_TRUE(back.has_value()) << back.error().text;
  EXPECT_EQ(ledger::event_of(record_.connection(), back->seq)->reverses, moved->head.seq);
  EXPECT_THAT(reverse_entry(desk(), moved->head.seq, "again").error().text,
              HasSubstr("was taken back"));
  const auto gone = reverse_entry(desk(), twice.entered.head.seq, "entered twice");
  ASSERT_TRUE(gone.has_value()) << gone.error().text;
  expect_closes();
  EXPECT_EQ(discs_in("pressed"), 0);
  EXPECT_FALSE(origin_of(record_, run, 5).has_value());
  pressed(30);
  EXPECT_TRUE(origin_of(record_, run, 5).has_value());
  // A noun that others name stays; one that none names goes.
  const auto titles = ledger::newest_events(record_.connection(), title, 1);
  EXPECT_THAT(reverse_entry(desk(), titles.at(0).seq, "typing").error().text,
              HasSubstr("take that back first"));
  const std::string spare = add("press", {{"name", "spare"}});
  ASSERT_TRUE(reverse_entry(
                  desk(), ledger::newest_events(record_.connection(), spare, 1).at(0).seq, "typing")
                  .has_value());
  EXPECT_THAT(add_noun(desk(), works::kind_of_table("run"), {{"order", order}, {"press", spare}})
                  .error()
                  .text,
              HasSubstr("entered by mistake"));
  // A step goes back to the state before.
  ASSERT_TRUE(unmount(desk(), {.mounting = mounting, .counter = 1100}));
  const auto withdrawn =
      log_step(desk(), {.part = stamper_a, .step = works::Step::withdrawn, .note = "noise"});
  ASSERT_TRUE(reverse_entry(desk(), withdrawn->head.seq, "the other one").has_value());
  EXPECT_EQ(ledger::text(ledger::at(find_thing(record_, stamper_a)->row, "state")), "resting");
  expect_closes();
}

TEST_P(WorksRecord, BadFieldsAreRefusedByName) {
  const works::Kind& kind = works::kind_of_table("batch");
  const auto refused = [&](const Typed& typed) {
    return add_noun(desk(), kind, typed).error().text;
  };
  EXPECT_THAT(refused({{"mass", "2 kg"}}), HasSubstr("material="));
  EXPECT_THAT(refused({{"material", "vinyl"}, {"mass", "heavy"}}),
              HasSubstr("mass: \"heavy\" is no mass"));
  EXPECT_THAT(refused({{"material", "vinyl"}, {"mass", "nan"}}), HasSubstr("mass"));
  EXPECT_THAT(refused({{"material", "vinyl"}, {"mass", "inf kg"}}), HasSubstr("mass"));
  EXPECT_THAT(refused({{"material", "vinyl"}, {"mass", "1e30 kg"}}), HasSubstr("mass"));
  EXPECT_THAT(refused({{"material", "vinyl"}, {"material", "vinyl"}}), HasSubstr("twice"));
  EXPECT_THAT(refused({{"materiel", "vinyl"}}), HasSubstr("has no field \"materiel\""));
  EXPECT_THAT(refused({{"material", "a\x01z"}}), HasSubstr("control character"));
  EXPECT_THAT(refused({{"material", "a\xffz"}}), HasSubstr("UTF-8"));
  EXPECT_THAT(refused({{"material", std::string(5000, 'a')}}), HasSubstr("too long"));
  EXPECT_THAT(refused({{"material", "vinyl"}, {"at", "2026-02-30"}}), HasSubstr("no date"));
  EXPECT_THAT(
      add_noun(desk(), works::kind_of_table("side"), {{"title", "T-0001-X"}, {"letter", "A"}})
          .error()
          .text,
      HasSubstr("title: "));
  EXPECT_FALSE(add_noun(desk(), works::kind_of_table("ticket"), {}).has_value());
  EXPECT_EQ(ledger::head_of(record_.connection()).seq, 0);
}

// Every text field of every noun takes what tries to be SQL as nothing but text.
TEST_P(WorksRecord, InjectionsAreText) {
  set_up();
  const std::string attack = "x'); DROP TABLE part; --\"; DELETE FROM event; $1";
  const std::map<std::string, std::string> known{{"title", title},
                                                 {"orders", order},
                                                 {"part", stamper_a},
                                                 {"press", press},
                                                 {"batch", batch},
                                                 {"run", run},
                                                 {"mounting", mounting}};
  int fields = 0;
  for (const works::Kind& kind : works::kinds()) {
    if (!kind.by_hand || kind.table == "part") continue;
    Typed typed;
    bool possible = true;
    for (const works::Field& field : kind.fields) {
      if (field.own || field.name == "gtin") continue;  // a GTIN is held against its standard
      if (field.type == works::Field::Type::text) {
        typed.emplace_back(field.name, attack);
        ++fields;
      } else if (field.required) {
        if (field.type == works::Field::Type::whole) typed.emplace_back(field.name, "3");
        if (field.type == works::Field::Type::choice)
          typed.emplace_back(field.name, field.choices.substr(0, field.choices.find('|')));
        if (field.type == works::Field::Type::code) {
          const auto code = known.find(std::string{field.refers_to});
          possible = possible && code != known.end();
          if (code != known.end()) typed.emplace_back(field.name, code->second);
        }
      }
    }
    typed.emplace_back("note", attack);
    if (!possible) continue;
    const auto entered = add_noun(desk(), kind, typed);
    ASSERT_TRUE(entered.has_value()) << kind.name << ": " << entered.error().text;
    EXPECT_EQ(ledger::text(ledger::at(find_thing(record_, entered->code)->row, "note")), attack);
  }
  EXPECT_GT(fields, 15);
  pressed(20);
  ASSERT_TRUE(move_discs(desk(), {.run = run, .quantity = 1}, {Place::scrap, "", attack, {}}));
  ASSERT_TRUE(hold(desk(), {.run = run, .impressions = works::Impressions{5, 6}}, attack));
  ASSERT_TRUE(recount(desk(), {.run = run, .places = {Place::pressed}}, 16, attack));
  ASSERT_TRUE(pull_sample(desk(), {.run = run, .first = 15, .reason = attack, .name = attack}));
  ASSERT_TRUE(log_step(desk(),
                       {.part = stamper_a,
                        .step = works::Step::washed_on_press,
                        .readings = {{.name = "words", .said = attack}},
                        .note = attack}));
  EXPECT_FALSE(find_thing(record_, attack).has_value());
  EXPECT_FALSE(whereabouts(record_, attack).has_value());
  EXPECT_FALSE(origin_of(record_, attack, 1).has_value());
  expect_closes();
}

}  // namespace
}  // namespace goodside::line
