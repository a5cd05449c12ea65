#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <map>
#include <regex>

#include "draw/code_symbol.hpp"
#include "draw/finder_sheet.hpp"
#include "draw/label.hpp"
#include "draw/sample_reports.hpp"
#include "draw/work_papers.hpp"

namespace goodside::draw {
namespace {

using testing::HasSubstr;

const std::string long_title =
    "Fallen Leaves and other songs of the long and never ending autumn of the valley, sung at the "
    "mill by those "
    "who stayed, with a hymn for those who left, 春の海と落ち葉の歌, Песня о мельнице, أغنية "
    "الطاحونة, "
    "Donaudampfschiffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaftslied";
const PaperStamp stamp{"Our Pressings", "2026-11-26"};

PackingList list_of(int cartons) {
  PackingList list{
      .code = "SH-0001-U", .title = long_title, .to = "Hill & Daughters\n12 Long Acre\nBath"};
  list.facts = {{"order", "O-0001-7"}, {"customer's number", std::string(300, 'W')}};
  for (int i = 1; i <= cartons; ++i)
    list.cartons.push_back({.code = fmt::format("K-{:06}-S", i),
                            .number = "106141412345678908",
                            .pallet = "PA-0001-L",
                            .discs = 25,
                            .impressions = "R-00001-9 5–29, 31–40; R-00002-7 1–7",
                            .spindles = "SP-001-I, SP-002-G",
                            .gross_kg = 6.58});
  return list;
}

/// One of each paper of the house, all with more than goes into a line.
std::vector<PaperText> one_of_each() {
  PartTraveller part{
      .code = "P-00002-O", .kind = "father", .title = long_title, .facts = {{"side", "A"}}};
  for (int i = 0; i < 10; ++i)
    part.done.push_back(
        {"2026-11-26 10:00", "passivated", "thickness 0.42 mm, " + long_title, "Ida"});
  part.to_do = {"separated", "inspected"};
  RunTraveller run{
      .code = "R-00001-9", .title = long_title, .facts = {{"press", "PR-01-3 Press 1"}}};
  run.pressed = {{"1–4, warm up", "B-0001-G", "M-00001-X", "1004", "2026-11-26 10:00"}};
  WeighUp mix{.batch = "B-0001-G", .recipe = long_title};
  for (int i = 0; i < 9; ++i)
    mix.lines.push_back({.ingredient = "pellets " + long_title,
                         .lot = "7781",
                         .asked_kg = 0.1 * i,
                         .tolerance_kg = 0.01});
  LabelProof proof{.code = "T-0001-W", .title = long_title};
  for (const char* side : {"A", "B"})
    proof.sides.push_back({.label = {.title = long_title,
                                     .artist = long_title,
                                     .side = side,
                                     .speed = "33⅓ rpm",
                                     .matrix = "FL-1 A",
                                     .catalogue = "HILL-042",
                                     .tracks = {long_title, "2 Hymn", "3 落ち葉"}},
                           .tracks = {{"1", long_title, "GB-ABC-26-00001", "3:42"}}});
  ConsignmentNote note{
      .code = "SH-0001-U", .from = "Our Pressings", .to = long_title, .carrier = "Dray & Son"};
  note.goods = {{long_title, 3, 120, 32.9}};
  note.remarks = {long_title};
  Certificate certificate{.code = "O-0001-7", .title = long_title, .plan = {long_title}};
  certificate.heard = {
      {"S-000001-3", "1200–1210", "A", "within limits", "1", "12", "0.123", "-65.2"}};
  certificate.looked = {{"R-00001-9 5–134", "128", "3 chip"}};
  for (int i = 0; i < 7; ++i) certificate.discs.push_back({"S-000001-3 A", samples::clean_lp()});
  certificate.conclusion = {"All heard and good."};
  return {part_traveller(part, stamp),
          run_traveller(run, stamp),
          weigh_up_sheet(mix, stamp),
          label_proof(proof, stamp),
          packing_list(list_of(20), stamp),
          consignment_note(note, stamp),
          inspection_certificate(certificate, stamp)};
}

UnitLabel carton_label() {
  return {.what = "Carton 3 of 96 · Our Pressings",
          .code = "K-000003-O",
          .headline = long_title,
          .pairs = {{"order", "O-0001-7"},
                    {"impressions", "R-00001-9 5–29"},
                    {"customer's number", long_title}},
          .count = "25 discs",
          .to = "Hill & Daughters\n12 Long Acre\nBath BA2 4XY",
          .caution = "6.6 kg: assess the lift.",
          .matrix = {.kind = PaperCode::Kind::data_matrix, .content = "K-000003-O"},
          .bars = {{.kind = PaperCode::Kind::gs1_128,
                    .content = "[00]106141412345678908",
                    .text = "(00)106141412345678908"}}};
}

/// Every text lies on the paper, a margin from its edge, and on no other text.
void expect_in_place(const DrawnPaper& drawn,
                     const Paper& paper,
                     double margin,
                     const std::string& what) {
  for (const auto& sheet : drawn.sheets)
    for (std::size_t i = 0; i < sheet.size(); ++i) {
      const auto& [text, box] = sheet[i];
      const std::string whose = what + ": " + text.substr(0, 60);
      EXPECT_GE(box.x, margin - 0.01) << whose;
      EXPECT_GE(box.y, margin - 0.01) << whose;
      EXPECT_LE(box.x + box.width, paper.width_mm - margin + 0.3) << whose;
      EXPECT_LE(box.y + box.height, paper.height_mm - margin + 0.3) << whose;
      const Box inner{box.x + 0.2, box.y + 0.3, box.width - 0.4, box.height - 0.6};
      for (std::size_t j = 0; j < i; ++j) {
        const Box& other = sheet[j].box;
        if (text.empty() || sheet[j].text.empty()) continue;
        EXPECT_FALSE(
            inner.meets({other.x + 0.2, other.y + 0.3, other.width - 0.4, other.height - 0.6}))
            << whose << " lies on " << sheet[j].text.substr(0, 60);
      }
    }
}

std::string text_of(const DrawnPaper& drawn) {
  std::string all;
  for (const auto& sheet : drawn.sheets)
    for (const auto& placed : sheet) all += placed.text + "\n";
  return all;
}

std::size_t count_of(const std::string& in, const std::string& what) {
  std::size_t count = 0;
  for (auto at = in.find(what); at != std::string::npos; at = in.find(what, at + 1)) ++count;
  return count;
}

TEST(Papers, NothingLeavesThePaperHoweverLongItIs) {
  for (const Paper& paper : {a4_paper, letter_paper})
    for (const PaperText& text : one_of_each()) {
      const auto drawn = draw_paper(text, PictureFormat::pdf, paper);
      ASSERT_TRUE(drawn.has_value()) << text.what << ": " << drawn.error().text;
      expect_in_place(*drawn, paper, 12.0, text.what);
      for (std::size_t i = 0; i < drawn->sheets.size(); ++i)
        EXPECT_EQ(count_of(text_of({.files = {}, .sheets = {drawn->sheets[i]}}),
                           fmt::format("sheet {} of {}\n", i + 1, drawn->sheets.size())),
                  1U);
    }
}

TEST(Papers, ARowIsOnOneSheetAndNoneIsLost) {
  const auto drawn =
      draw_paper(packing_list(list_of(100), stamp), PictureFormat::pdf, a4_paper).value();
  EXPECT_GT(drawn.sheets.size(), 2U);
  const std::string all = text_of(drawn);
  for (int i = 1; i <= 100; ++i) EXPECT_EQ(count_of(all, fmt::format("K-{:06}-S\n", i)), 1U) << i;
  EXPECT_EQ(count_of(all, "2500\n"), 1U);  // discs
  EXPECT_EQ(count_of(all, "658.0 kg\n"), 1U);
  // The station's caution stands at the foot of every sheet.
  EXPECT_EQ(count_of(all, "Caution: "), drawn.sheets.size());
  EXPECT_EQ(draw_paper(packing_list(list_of(100), stamp), PictureFormat::pdf, a4_paper)->files,
            drawn.files);
}

// A copier keeps no colour: every ink of the drawing is black, every ground white.
TEST(Papers, AreBlackOnWhiteAlone) {
  std::vector<std::string> files;
  for (const PaperText& text : one_of_each()) {
    const DrawnPaper drawn = draw_paper(text, PictureFormat::svg, a4_paper).value();
    files.insert(files.end(), drawn.files.begin(), drawn.files.end());
  }
  files.push_back(draw_labels({carton_label()}, PictureFormat::svg, {105.0, 148.0})->files.at(0));
  const std::regex ink{"rgb\\(([0-9.]+)%, *([0-9.]+)%, *([0-9.]+)%\\)"};
  std::size_t inks = 0;
  for (const std::string& file : files)
    for (std::sregex_iterator at{file.begin(), file.end(), ink}, end; at != end; ++at, ++inks) {
      const std::string red = (*at)[1];
      EXPECT_TRUE(red == "0" || red == "100") << at->str();
      EXPECT_EQ((*at)[2], red);
      EXPECT_EQ((*at)[3], red);
    }
  EXPECT_GT(inks, 100U);
}

TEST(Papers, ALetterThatNoFontHasIsRefusedByName) {
  auto paper = packing_list(list_of(1), stamp);
  paper.parts[0].pairs.push_back({"note", "a bird 𓅃 on the label"});
  const auto refused = draw_paper(paper, PictureFormat::pdf, a4_paper);
  ASSERT_FALSE(refused.has_value());
  EXPECT_EQ(refused.error().fault, Fault::bad_input);
  EXPECT_THAT(refused.error().text, HasSubstr("U+13143"));
  EXPECT_THAT(refused.error().text, HasSubstr("Egyp"));
  EXPECT_THAT(refused.error().text, HasSubstr("a bird"));
  UnitLabel label = carton_label();
  label.headline = "𓅃";
  EXPECT_FALSE(draw_labels({label}, PictureFormat::pdf, a4_paper).has_value());
  EXPECT_TRUE(check_letters({"春の海", "Ελλάδα", "שלום", "مرحبا", "Łódź 33⅓", "\n"}).has_value());
}

TEST(Papers, SizesAreReadByNameOrInMillimetres) {
  EXPECT_EQ(read_paper("A4")->height_mm, 297.0);
  EXPECT_EQ(read_paper("letter")->width_mm, 215.9);
  EXPECT_EQ(read_paper("105x148mm")->height_mm, 148.0);
  EXPECT_EQ(read_paper("62x100")->width_mm, 62.0);
  for (const char* wrong :
       {"", "a9", "105", "105x", "x148", "105x148cm", "1e3x200", "10x10", "9999x9999", "nanxnan"})
    EXPECT_FALSE(read_paper(wrong).has_value()) << wrong;
  EXPECT_FALSE(
      draw_paper(packing_list(list_of(1), stamp), PictureFormat::pdf, {105.0, 148.0}).has_value());
}

TEST(Labels, NothingLeavesTheLabelAndItsNumbersAreWhole) {
  for (const Paper& paper : {Paper{105.0, 148.0}, Paper{101.6, 152.4}, Paper{148.0, 210.0}}) {
    const auto drawn = draw_labels({carton_label(), carton_label()}, PictureFormat::pdf, paper);
    ASSERT_TRUE(drawn.has_value()) << drawn.error().text;
    EXPECT_EQ(drawn->sheets.size(), 2U);
    expect_in_place(*drawn, paper, 3.0, "label");
    for (const char* whole : {"K-000003-O\n", "25 discs\n", "(00)106141412345678908\n"})
      EXPECT_EQ(count_of(text_of(*drawn), whole), 2U) << whole;
  }
  // An SSCC of 156 modules does not go on 40 mm so that a scanner reads it.
  EXPECT_EQ(draw_labels({carton_label()}, PictureFormat::pdf, {41.0, 100.0}).error().fault,
            Fault::out_of_range);
  EXPECT_EQ(draw_labels({carton_label()}, PictureFormat::pdf, {105.0, 45.0}).error().fault,
            Fault::out_of_range);
  EXPECT_FALSE(draw_labels({}, PictureFormat::pdf, {105.0, 148.0}).has_value());
}

// The label is a disc: every corner of every text lies within its edge, and outside its hole.
TEST(CentreLabels, EveryTextLiesBetweenEdgeAndHole) {
  for (const double hole_m : {0.00724, 0.0382}) {
    Canvas canvas{PictureFormat::svg, a4_paper};
    const CentreLabel label{.diameter_m = 0.093,
                            .hole_diameter_m = hole_m,
                            .title = long_title,
                            .artist = long_title,
                            .side = "A",
                            .speed = "45 rpm",
                            .matrix = "FL-1 A",
                            .catalogue = "HILL-042",
                            .label_name = "Hedgerow",
                            .tracks = {long_title, long_title, "3 Hymn"}};
    draw_centre_label(canvas, label, {20.0, 30.0});
    ASSERT_GE(canvas.texts().size(), 6U);
    for (const auto& [text, box] : canvas.texts()) {
      double nearest = 1e9;
      for (const double x : {box.x, box.x + box.width})
        for (const double y : {box.y, box.y + box.height}) {
          EXPECT_LE(std::hypot(x - 66.5, y - 76.5), 46.5) << text.substr(0, 40);
          nearest = std::min(
              nearest,
              std::abs(y - 76.5) < 3.0 ? std::abs(x - 66.5) : std::hypot(x - 66.5, y - 76.5));
        }
      EXPECT_GE(nearest, hole_m * 500.0) << text.substr(0, 40);
    }
  }
}

// Published: 95 modules of twenty random EAN-13 and UPC-A numbers (tests/published/barcodes/SOURCE.md).
TEST(CodeSymbols, AgreeWithPublishedModules) {
  std::ifstream in{
      fmt::format("{}/tests/published/barcodes/ean_upc_modules.csv", GOODSIDE_SOURCE_DIR)};
  ASSERT_TRUE(in.good());
  int count = 0;
  std::string line;
  std::getline(in, line);
  for (; std::getline(in, line); ++count) {
    const auto second = line.find(',', line.find(',') + 1), third = line.find(',', second + 1);
    const std::string number = line.substr(second + 1, third - second - 1);
    const CodeSymbol symbol = ean_upc(number).value();
    std::string modules;
    for (int i = 0; i < symbol.columns; ++i) modules += symbol.at(0, i) ? '1' : '0';
    EXPECT_EQ(modules, line.substr(third + 1)) << number;
  }
  EXPECT_EQ(count, 20);
}

// Form of the symbols by their standards: Code 128 has 11 modules a character, start, check and a stop of 13; a Data
// Matrix has an unbroken bar at its left and foot and dashes above and at the right.
TEST(CodeSymbols, HaveTheFormOfTheirStandards) {
  EXPECT_EQ(gs1_128("[00]106141412345678908")->columns, 11 * (1 + 1 + 10 + 1) + 13);
  const CodeSymbol bars = code_128("K-000001-S").value();
  EXPECT_EQ((bars.columns - 13) % 11, 0);
  const CodeSymbol matrix = data_matrix("S-000001-3").value();
  EXPECT_EQ(matrix.rows, matrix.columns);
  for (int i = 0; i < matrix.rows; ++i) {
    EXPECT_TRUE(matrix.at(i, 0));
    EXPECT_TRUE(matrix.at(matrix.rows - 1, i));
    EXPECT_EQ(matrix.at(0, i), i % 2 == 0);
  }
  EXPECT_THAT(gs1_128("[00]106141412345678909").error().text, HasSubstr("expected '8'"));
  for (const std::string& wrong :
       {std::string{}, std::string{"caf\xc3\xa9"}, std::string(3000, 'x')})
    EXPECT_FALSE(code_128(wrong).has_value()) << wrong.substr(0, 10);
  EXPECT_FALSE(data_matrix(std::string(5000, 'x')).has_value());
  EXPECT_FALSE(ean_upc("6291041500214").has_value());
  Canvas canvas{PictureFormat::svg, a4_paper};
  EXPECT_EQ(
      draw_symbol(canvas,
                  bars,
                  {.within = {0.0, 0.0, 20.0, 10.0}, .least_module = 0.25, .most_module = 0.5})
          .error()
          .fault,
      Fault::out_of_range);
}

}  // namespace
}  // namespace goodside::draw
