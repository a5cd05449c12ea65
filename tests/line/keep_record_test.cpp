#include "line/keep_record.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <sstream>

#include "line/card_index.hpp"
#include "line/match_captures.hpp"
#include "line/origin.hpp"
#include "line/record_desk.hpp"
#include "line/works_place.hpp"
#include "works/code.hpp"

namespace goodside::line {
namespace {

using testing::HasSubstr;
using works::Place;

void write_file(const std::string& path, const std::string& bytes) {
  std::ofstream{path, std::ios::binary} << bytes;
}
std::string read_file(const std::string& path) {
  std::ifstream file{path, std::ios::binary};
  std::ostringstream bytes;
  bytes << file.rdbuf();
  return bytes.str();
}

class KeepRecord : public test::RecordDesk {
 protected:
  /// Something of everything, tests and reversals among it.
  void fill() {
    set_up();
    pressed(60);
    ASSERT_TRUE(move_discs(desk(),
                           {.run = run, .impressions = works::Impressions{1, 40}},
                           {Place::good_stock, "", "", {}}));
    ASSERT_TRUE(hold(desk(),
                     {.run = run, .impressions = works::Impressions{30, 50}},
                     "noise \"quoted\",\nand a second line"));
    ASSERT_TRUE(pull_sample(desk(), {.run = run, .first = 55, .name = "TARN 55"}));
    code(log_step(desk(),
                  {.part = stamper_a,
                   .step = works::Step::washed_on_press,
                   .readings = {{.name = "minutes", .value = 0.1}}}));
  }
};
FOR_BOTH_STORES(KeepRecord);

TEST_P(KeepRecord, GoesToTheOtherKindOfStoreWithTheSameHead) {
  fill();
  const std::string path = store_.file("record.jsonl");
  const auto head = export_lines(record_, path);
  ASSERT_TRUE(head.has_value()) << head.error().text;
  const ledger::test::TestStore other{GetParam() == ledger::Connection::Kind::sqlite
                                          ? ledger::Connection::Kind::postgresql
                                          : ledger::Connection::Kind::sqlite};
  ledger::Record twin = other.open();
  const auto taken = import_lines(twin, path);
  ASSERT_TRUE(taken.has_value()) << taken.error().text;
  EXPECT_EQ(*taken, *head);
  const auto here = ledger::check(record_.connection(), {}),
             there = ledger::check(twin.connection(), {.known_head = *head, .since_ms = {}});
  EXPECT_TRUE(there.closes()) << there.breaks.front();
  EXPECT_EQ(here.places, there.places);
  EXPECT_EQ(here.rows, there.rows);
  // And back again, byte for byte.
  ASSERT_TRUE(export_lines(twin, store_.file("again.jsonl")));
  EXPECT_EQ(read_file(path), read_file(store_.file("again.jsonl")));
  EXPECT_EQ(import_lines(twin, path).error().fault, Fault::conflict);
}

TEST_P(KeepRecord, ADamagedExportIsRefusedByLineAndNothingIsTaken) {
  fill();
  const std::string path = store_.file("record.jsonl");
  ASSERT_TRUE(export_lines(record_, path));
  const std::string good = read_file(path);
  const ledger::test::TestStore other{GetParam()};
  ledger::Record twin = other.open();
  const auto refused = [&](const std::string& bytes) {
    write_file(path, bytes);
    const auto taken = import_lines(twin, path);
    EXPECT_FALSE(taken.has_value());
    EXPECT_EQ(ledger::head_of(twin.connection()).seq, 0);
    return taken ? std::string{} : taken.error().text;
  };
  EXPECT_THAT(refused(good.substr(0, good.size() / 2)), HasSubstr("record.jsonl:"));
  EXPECT_THAT(refused(good.substr(0, good.rfind('\n', good.size() - 2) + 1)),
              HasSubstr("cut short"));
  std::string edited = good;
  edited.replace(edited.find("Fallen Leaves"), 6, "Sunken");
  EXPECT_THAT(refused(edited), HasSubstr("hash differs"));
  EXPECT_FALSE(refused("").empty());
  EXPECT_FALSE(refused("{}\n").empty());
  EXPECT_FALSE(refused("not json\n").empty());
  EXPECT_FALSE(refused(std::string(100, '[') + "\n").empty());
  write_file(path, good);
  EXPECT_TRUE(import_lines(twin, path).has_value());
}

TEST_P(KeepRecord, TablesGoToCsvFilesThatReadBack) {
  fill();
  ASSERT_TRUE(export_tables(record_, store_.file("tables")));
  const std::string parts = read_file(store_.file("tables/part.csv"));
  EXPECT_THAT(parts, HasSubstr(stamper_a));
  EXPECT_THAT(read_file(store_.file("tables/holding.csv")),
              HasSubstr("\"noise \"\"quoted\"\",\nand a second line\""));
  std::size_t files = 0;
  for ([[maybe_unused]] const auto& entry :
       std::filesystem::directory_iterator{store_.file("tables")})
    ++files;
  EXPECT_EQ(files, ledger::shapes().size() + 1);
}

TEST_P(KeepRecord, ABackupIsTakenWhileOthersWriteAndRestored) {
  fill();
  const std::string path = store_.file("backup");
  const auto head = back_up(record_, path);
  ASSERT_TRUE(head.has_value()) << head.error().text;
  EXPECT_EQ(back_up(record_, path).error().fault, Fault::conflict);
  pressed(10);  // after the backup: lost with the record, and told by the head
  const auto newest = ledger::head_of(record_.connection());
  if (GetParam() == ledger::Connection::Kind::sqlite) {
    const std::string place = store_.file("works.db");
    write_file(place, "damaged");
    const auto checked = restore(path, place);
    ASSERT_TRUE(checked.has_value()) << checked.error().text;
    EXPECT_TRUE(checked->closes());
    EXPECT_EQ(checked->head, *head);
    EXPECT_EQ(read_file(place + ".before-damaged"), "damaged");
    auto restored = ledger::Record::open(place, false);
    ASSERT_TRUE(restored.has_value());
    const auto known = check_record(*restored, {.known_head = newest, .since_ms = {}});
    EXPECT_THAT(known->breaks.at(0), HasSubstr("tail was cut"));
    std::filesystem::resize_file(path, std::filesystem::file_size(path) / 2);
    EXPECT_FALSE(restore(path, place).has_value());
    EXPECT_TRUE(check_record(*restored, {})->closes());
  } else {
    const ledger::test::TestStore other{GetParam()};
    const auto checked = restore(path, other.where());
    ASSERT_TRUE(checked.has_value()) << checked.error().text;
    EXPECT_EQ(checked->head, *head);
    EXPECT_FALSE(restore(path, other.where()).has_value());  // it is not empty any more
  }
  EXPECT_FALSE(restore(store_.file("none"), store_.where()).has_value());
}

TEST_P(KeepRecord, CardsListEveryBadRowByLineAndColumnAndEnterNothing) {
  set_up();
  const auto before = ledger::head_of(record_.connection());
  const std::string path = store_.file("parts.csv");
  const std::string side = ledger::text(ledger::at(find_thing(record_, stamper_a)->row, "side"));
  const std::string father = works::CodePattern::parse("F-###-?")->write(1),
                    mother = works::CodePattern::parse("F-###-?")->write(2);
  write_file(path,
             "code,kind,side,parent,state,at\n" + father + ",father," + side +
                 ",,ready,2011-03-04\n" + mother + ",mother,," + father +
                 ",ready,2011-05-06\n"
                 "F-003-X,mother,,,ready,\n"
                 ",disc," +
                 side +
                 ",,ready,2011-02-30\n"
                 ",mother,,P-00099-X,asleep,\n");
  const auto dry = take_cards(desk(), "part", path, true);
  ASSERT_TRUE(dry.has_value()) << dry.error().text;
  EXPECT_EQ(dry->rows, 5);
  EXPECT_EQ(dry->bad_rows, 3);
  std::string listed;
  for (const BadCell& cell : dry->bad)
    listed += std::to_string(cell.line) + ":" + cell.column + " ";
  EXPECT_EQ(listed, "4:code 5:kind 5:at 6:parent 6:state ");
  EXPECT_EQ(take_cards(desk(), "part", path, false)->bad_rows, 3);
  EXPECT_EQ(ledger::head_of(record_.connection()), before);

  write_file(path,
             "code;kind;side;parent;state;at\n" + father + ";father;" + side +
                 ";;ready;2011-03-04\n" + mother + ";mother;;" + father + ";ready;2011-05-06\n");
  EXPECT_TRUE(take_cards(desk(), "part", path, true)->bad.empty());
  EXPECT_EQ(ledger::head_of(record_.connection()), before);
  const auto taken = take_cards(desk(), "part", path, false);
  EXPECT_TRUE(taken->entered);
  EXPECT_EQ(ledger::text(ledger::at(find_thing(record_, mother)->row, "parent")), father);
  EXPECT_EQ(take_cards(desk(), "part", path, false)->bad_rows, 2);  // they are there now

  EXPECT_THAT(take_cards(desk(), "part", store_.file("none.csv"), true).error().text,
              HasSubstr("none.csv"));
  write_file(path, "kind,colour\nmother,red\n");
  EXPECT_THAT(take_cards(desk(), "part", path, true).error().text, HasSubstr("\"colour\""));
  write_file(path, "kind,side\nmother\n");
  EXPECT_THAT(take_cards(desk(), "part", path, true).error().text, HasSubstr("parts.csv:2"));
  write_file(path, "kind,side\nmother,\"open\n");
  EXPECT_THAT(take_cards(desk(), "part", path, true).error().text, HasSubstr("never closed"));
}

TEST_P(KeepRecord, DiscsOfAnOldRunComeFromCards) {
  set_up();
  const std::string path = store_.file("discs.csv");
  write_file(path,
             "run,quantity,place,mounting,reason\n" + run + ",480,shipped," + mounting + ",\n" +
                 run + ",20,scrap," + mounting + ",warp\n");
  const auto taken = take_cards(desk(), "discs", path, false);
  ASSERT_TRUE(taken.has_value()) << taken.error().text;
  EXPECT_TRUE(taken->bad.empty()) << taken->bad.at(0).text;
  expect_closes();
  EXPECT_EQ(discs_in("shipped"), 480);
  EXPECT_EQ(origin_of(record_, run, 490)->now.at(0).spot.reason, "warp");
}

TEST_P(KeepRecord, CapturesAreMatchedToTicketsAndEveryMissIsListed) {
  fill();
  const std::string folder = store_.file("captures");
  std::filesystem::create_directories(folder);
  const std::string ticket =
      ledger::text(record_.connection().ask("SELECT code FROM ticket")[0][0]);
  write_file(folder + "/" + ticket + "_A.wav", "one");
  write_file(folder + "/tarn 55-b.flac", "two");
  write_file(folder + "/S-009999-X_A.wav", "three");
  write_file(folder + "/holiday.wav", "four");
  write_file(folder + "/notes.txt", "no audio");
  const auto before = ledger::head_of(record_.connection());
  EXPECT_EQ(match_captures(desk(), {.folder = folder, .enter = false})->hits.size(), 2U);
  EXPECT_EQ(ledger::head_of(record_.connection()), before);
  const auto matched = match_captures(desk(), {.folder = folder});
  ASSERT_EQ(matched->hits.size(), 2U);
  EXPECT_EQ(matched->hits[0].ticket, ticket);
  EXPECT_EQ(matched->hits[0].letter + matched->hits[1].letter, "AB");
  ASSERT_EQ(matched->misses.size(), 2U);
  EXPECT_TRUE(match_captures(desk(), {.folder = folder})->hits[0].known);
  write_file(store_.file("table.csv"),
             "file,ticket,side\nholiday.wav," + ticket + ",A\nlost.wav," + ticket + ",B\n");
  const auto by_table =
      match_captures(desk(), {.folder = folder, .table = store_.file("table.csv")});
  EXPECT_EQ(by_table->hits.size(), 1U);
  EXPECT_EQ(by_table->misses.size(), 4U);
  EXPECT_FALSE(match_captures(desk(), {.folder = store_.file("none")}).has_value());
}

TEST_P(KeepRecord, AHeadIsReadAsPapersCarryIt) {
  fill();
  const auto head = ledger::head_of(record_.connection());
  EXPECT_EQ(read_head(record_, std::to_string(head.seq) + ":" + head.hash.substr(0, 8)).value(),
            head);
  for (const char* wrong : {"",
                            "7",
                            "7:",
                            "7:12",
                            ":abcdef12",
                            "-1:abcdef12",
                            "7:ABCDEF12",
                            "99999999999999999999:abcdef12"})
    EXPECT_FALSE(read_head(record_, wrong).has_value()) << wrong;
  const auto other = read_head(
      record_,
      std::to_string(head.seq) + ":" + (head.hash[0] == '0' ? "1" : "0") + head.hash.substr(1, 9));
  EXPECT_FALSE(check_record(record_, {.known_head = *other, .since_ms = {}})->closes());
}

TEST_P(KeepRecord, AWorksIsMadeOnceWithItsOwnCodes) {
  const NewWorks wanted{
      .folder = store_.file("tarnholt"),
      .name = "Tarnholt \"Pressings\"",
      .zone = "Europe/London",
      .store = GetParam() == ledger::Connection::Kind::sqlite ? "record.db" : store_.where(),
      .patterns = {"part=ST-###-?"}};
  const auto head = make_works(wanted, "Ida", 1);
  ASSERT_TRUE(head.has_value()) << head.error().text;
  EXPECT_EQ(make_works(wanted, "Ida", 1).error().fault, Fault::conflict);
  const auto place = read_works_place(wanted.folder);
  ASSERT_TRUE(place.has_value()) << place.error().text;
  EXPECT_EQ(place->name, wanted.name);
  auto record = ledger::Record::open(place->store, false);
  ASSERT_TRUE(record.has_value());
  const Desk here{*record, "Ida", 2};
  const auto title_code = code(add_noun(here, works::kind_of_table("title"), {{"name", "T"}}));
  const auto side =
      code(add_noun(here, works::kind_of_table("side"), {{"title", title_code}, {"letter", "A"}}));
  EXPECT_TRUE(
      code(add_noun(here, works::kind_of_table("part"), {{"kind", "lacquer"}, {"side", side}}))
          .starts_with("ST-001-"));
  for (const char* wrong : {"part", "part=", "part=ST", "disc=ST-##-?", "part=O-##-?"})
    EXPECT_FALSE(
        make_works({.folder = store_.file("other"), .name = "x", .patterns = {wrong}}, "Ida", 1)
            .has_value())
        << wrong;
}

}  // namespace
}  // namespace goodside::line
