#include "draw/disc_view.hpp"

#include <gtest/gtest.h>

#include "draw/disc_shape.hpp"

namespace goodside::draw {
namespace {

constexpr Point centre{400.0, 470.0};

DiscView view_of(View view, double landmark_deg = 0.0) {
  return {
      .view = view, .centre = centre, .units_per_m = 2000.0, .landmark_angle_deg = landmark_deg};
}

void expect_at(Point at, double x, double y) {
  EXPECT_NEAR(at.x, x, 1e-9);
  EXPECT_NEAR(at.y, y, 1e-9);
}

// By hand: the disc turns clockwise under the stylus, so a quarter turn of programme later the
// stylus is over what lay a quarter turn counter-clockwise of the start.
TEST(DiscView, ProgrammeRunsCounterClockwiseOnADisc) {
  const DiscView disc = view_of(View::disc);
  expect_at(disc.place(0.1, 0.0), 400.0, 270.0);
  expect_at(disc.place(0.1, 90.0), 200.0, 470.0);
  expect_at(disc.place(0.1, 180.0), 400.0, 670.0);
  expect_at(disc.place(0.1, 270.0), 600.0, 470.0);
}

TEST(DiscView, MotherLiesAsTheDisc) {
  for (const double angle_deg : {0.0, 33.0, 200.0}) {
    const Point disc = view_of(View::disc).place(0.07, angle_deg);
    const Point mother = view_of(View::mother).place(0.07, angle_deg);
    expect_at(mother, disc.x, disc.y);
  }
}

// Property: stamper and father are mirror images of the disc about the upright through the centre.
TEST(DiscView, StamperAndFatherAreMirrorImages) {
  for (const double landmark_deg : {0.0, 47.0})
    for (const double angle_deg : {0.0, 10.0, 135.0, 300.0})
      for (const View metal : {View::stamper, View::father}) {
        const Point disc = view_of(View::disc, landmark_deg).place(0.12, angle_deg);
        expect_at(
            view_of(metal, landmark_deg).place(0.12, angle_deg), 2.0 * centre.x - disc.x, disc.y);
      }
}

TEST(DiscView, TheLandmarkLiesAtTheTop) {
  for (const View view : {View::disc, View::stamper})
    expect_at(view_of(view, 215.0).place(0.1, 215.0), 400.0, 270.0);
}

works::SideGeometry side(const char* format, double rpm, double outer_m, double inner_m) {
  return {.format = format,
          .rpm = rpm,
          .outer_radius_m = outer_m,
          .inner_radius_m = inner_m,
          .pitch_m = 1e-4};
}

// Published: JIS S 8502-1973 as quoted by comparisons of disc standards: diameters 175, 251, 301
// mm; label area at most 93 and 102 mm; holes 7.24 and 38.2 mm.
TEST(DiscShape, HasTheStandardsDimensions) {
  const DiscShape twelve = disc_shape(side("12in-33", 33.333, 0.146, 0.0605));
  EXPECT_NEAR(twelve.edge_radius_m, 0.1505, 1e-9);
  EXPECT_NEAR(twelve.label_radius_m, 0.051, 1e-9);
  EXPECT_NEAR(twelve.hole_radius_m, 0.00362, 1e-9);
  const DiscShape seven = disc_shape(side("7in-45", 45.0, 0.084, 0.0535));
  EXPECT_NEAR(seven.edge_radius_m, 0.0875, 1e-9);
  EXPECT_NEAR(seven.hole_radius_m, 0.0191, 1e-9);
  EXPECT_NEAR(disc_shape(side("custom", 78.26, 0.1205, 0.0475)).edge_radius_m, 0.1255, 1e-9);
}

// Property: the label leaves the groove bare and the disc holds it, whatever the cut.
TEST(DiscShape, NeverCoversTheGroove) {
  for (const double inner_m : {0.03, 0.045, 0.06})
    for (const double outer_m : {0.08, 0.12, 0.155}) {
      const DiscShape shape = disc_shape(side("custom", 33.3, outer_m, inner_m));
      EXPECT_LT(shape.label_radius_m, inner_m);
      EXPECT_GT(shape.edge_radius_m, outer_m);
      EXPECT_LT(shape.hole_radius_m, shape.label_radius_m);
    }
}

}  // namespace
}  // namespace goodside::draw
