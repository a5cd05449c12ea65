#include "line/plan_plating.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "draw/plating_plot.hpp"
#include "intake/metals.hpp"
#include "json/node.hpp"
#include "json/plating.hpp"
#include "metal/metals.hpp"

namespace goodside::line {
namespace {

using testing::HasSubstr;

PlatingRequest disc(double radius_m) {
  return {.metal = metal::built_in_metals().front(), .disc_radius_m = radius_m};
}

PlatingRequest in_a_cell(double radius_m) {
  PlatingRequest request = disc(radius_m);
  request.cell = CellGiven{.kinetics = {.law = works::KineticLaw::primary},
                           .band_inner_radius_m = 0.4 * radius_m,
                           .band_outer_radius_m = 0.9 * radius_m};
  return request;
}

/// Runs of odd proportions, for what must hold of any.
std::vector<works::PlatingReport> odd_runs() {
  std::vector<PlatingRequest> requests{in_a_cell(0.16), in_a_cell(0.01), in_a_cell(3.0)};
  requests[0].face = works::StartingFace::silvered;
  requests[0].cell->cell.anode_inner_radius_m = 0.08;
  requests[0].cell->cell.rim_height_m = 0.01;
  requests[1].cell->cell.shield = works::CellShield{0.009, 0.001, 0.0005, 0.0};
  requests[1].target_m = 30e-6;
  requests[2].cell->cell.anode_distance_m = 0.1;
  requests[2].time_s = 60.0;
  requests[2].target_m = 1e-6;
  std::vector<works::PlatingReport> reports;
  for (auto& request : requests) {
    auto report = plan_plating(request);
    if (!report) throw std::runtime_error(report.error().text);
    reports.push_back(std::move(*report));
  }
  return reports;
}

TEST(PlanPlating, AddsUp) {
  for (const auto& report : odd_runs()) {
    double charge_C = 0.0, time_s = 0.0;
    for (const auto& stage : report.stages) {
      charge_C += 0.5 * (stage.from_A + stage.to_A) * stage.time_s;
      time_s += stage.time_s;
    }
    EXPECT_NEAR(charge_C / report.charge_C, 1.0, 1e-9);
    EXPECT_NEAR(time_s / report.time_s, 1.0, 1e-9);
    EXPECT_NEAR(report.mass_kg /
                    (report.mean_thickness_m * report.area_m2 * report.metal.density_kg_per_m3),
                1.0,
                1e-12);
    ASSERT_TRUE(report.spread);
    EXPECT_LE(report.spread->band.least_m, report.spread->band.mean_m);
    EXPECT_LE(report.spread->band.mean_m, report.spread->band.most_m);
    EXPECT_GE(report.cautions.size(), 4U);
    EXPECT_THAT(report.cautions.back(), HasSubstr("licensed adviser"));
  }
}

TEST(PlanPlating, WritesJsonThatReadsBackTheSameEachTime) {
  for (const auto& report : odd_runs()) {
    const std::string text = json::write(report);
    EXPECT_EQ(text, json::write(report));
    const auto node = json::read_node(text, std::size_t{1} << 20, "the run");
    ASSERT_TRUE(node) << node.error().text;
    EXPECT_EQ(std::get<std::string>(node->find("schema")->value), "goodside.plate/1");
    EXPECT_NEAR(
        std::get<double>(node->find("charge_C")->value), report.charge_C, 1e-8 * report.charge_C);
  }
}

TEST(PlatingPlots, NoTextTouchesAnotherOrLeavesThePage) {
  for (const auto& report : odd_runs())
    for (const int which : {0, 1, 2}) {
      draw::PlotOptions options;
      options.title = "Tarnholt";
      options.date = "2026-11-26";
      const auto texts = draw::plating_plot_texts(report, options, which);
      ASSERT_TRUE(texts) << texts.error().text;
      for (std::size_t i = 0; i < texts->size(); ++i) {
        const draw::Box& box = (*texts)[i].box;
        EXPECT_TRUE(box.x >= 0.0 && box.y >= 0.0 && box.x + box.width <= draw::plot_width &&
                    box.y + box.height <= draw::plot_height)
            << which << ' ' << (*texts)[i].text;
        for (std::size_t j = 0; j < i; ++j)
          EXPECT_FALSE(box.meets((*texts)[j].box))
              << which << ' ' << (*texts)[i].text << " / " << (*texts)[j].text;
      }
    }
}

TEST(PlatingPlots, SayWhyThereIsNothingToDraw) {
  const auto report = plan_plating(disc(0.16));
  ASSERT_TRUE(report);
  const draw::PlotOptions usual;
  EXPECT_TRUE(draw::ramp_plot(*report, usual));
  const auto drawn = draw::thickness_plot(*report, usual);
  ASSERT_FALSE(drawn);
  EXPECT_EQ(drawn.error().fault, Fault::bad_input);
  draw::PlotOptions narrow;
  narrow.width_px = 20;
  EXPECT_FALSE(draw::ramp_plot(*report, narrow));
}

// Regression guard: keys of salts come in the table's order of names, and the first that carries metal feeds an insoluble anode.
TEST(Metals, ATableMayPutTheSaltThatCarriesNoMetalFirst) {
  const auto built_in = metal::built_in_metals();
  const auto room = intake::metals_from_toml(
      "[metals.chromium.salts]\n\"a catalyst\" = {concentration = \"2.5 g/L\"}\n"
      "\"chromic acid\" = {concentration = \"250 g/L\", metal_share = 0.52}\n",
      "own.toml",
      {built_in.begin(), built_in.end()});
  ASSERT_TRUE(room) << room.error().text;
  PlatingRequest request = disc(0.16);
  request.metal = room->metals[2];
  const auto report = plan_plating(request);
  ASSERT_TRUE(report);
  ASSERT_EQ(report->upkeep.used.size(), 2U);
  EXPECT_GT(report->upkeep.used[1].mass_kg, report->mass_kg / 0.52);
}

}  // namespace
}  // namespace goodside::line
