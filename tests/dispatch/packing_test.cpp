#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <vector>

#include "dispatch/carton_fill.hpp"
#include "dispatch/lifting.hpp"
#include "dispatch/order_balance.hpp"
#include "dispatch/pallet_pattern.hpp"
#include "dispatch/usual_packing.hpp"

namespace goodside::dispatch {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double infinity = std::numeric_limits<double>::infinity();

// Masses and mean thickness of discs as they are cross-checked in the trade: common practice for the masses; the 10-inch
// shellac disc of 170 to 184 g, 1.73 to 1.90 mm and 1.91 to 1.94 g/cm3 is of British patent 865,702 as quoted.
// Tolerance: half of the thickness's last digit, as a share of the mass.
TEST(DiscMass, AgreesWithTheTradesCrossChecks) {
  struct Row {
    double diameter_m, hole_m, thickness_m, density, mass_kg;
  };
  for (const Row& row : {Row{0.301, 0.0, 1.426e-3, 1380.0, 0.140},
                         Row{0.301, 0.0, 1.833e-3, 1380.0, 0.180},
                         Row{0.251, 0.0, 1.684e-3, 1380.0, 0.115},
                         Row{0.175, 0.0, 1.205e-3, 1380.0, 0.040}}) {
    const double mass_kg =
        disc_mass_kg({row.diameter_m, row.hole_m, row.thickness_m, row.density}).value();
    EXPECT_NEAR(mass_kg, row.mass_kg, row.mass_kg * 0.5e-6 / row.thickness_m);
  }
  const double light = disc_mass_kg({0.251, 0.00724, 1.73e-3, 1910.0}).value();
  const double heavy = disc_mass_kg({0.251, 0.00724, 1.90e-3, 1940.0}).value();
  EXPECT_NEAR(light, 0.170, 0.01);
  EXPECT_NEAR(heavy, 0.184, 0.01);
}

TEST(DiscMass, RefusesWhatIsNoDisc) {
  for (const DiscBody& body : {DiscBody{nan, 0.007, 2e-3, 1400.0},
                               DiscBody{0.3, infinity, 2e-3, 1400.0},
                               DiscBody{0.3, 0.007, -2e-3, 1400.0},
                               DiscBody{0.3, 0.007, 2e-3, 0.0},
                               DiscBody{0.05, 0.06, 2e-3, 1400.0}})
    EXPECT_FALSE(disc_mass_kg(body).has_value());
}

// Check value of the revised NIOSH equation, from memory: H 40, V 75, D 25 cm, no twist, factors 1.
TEST(Lifting, AgreesWithItsCheckValue) {
  EXPECT_NEAR(recommended_weight_kg({}).value(), 14.375, 5e-4);
  // The load constant, where every multiplier is one.
  EXPECT_NEAR(recommended_weight_kg({.reach_m = 0.25}).value(), 23.0, 5e-3);
  EXPECT_LT(recommended_weight_kg({.twist_deg = 90.0}).value(), recommended_weight_kg({}).value());
  for (const Lift& lift : {Lift{.reach_m = 0.7},
                           Lift{.from_height_m = nan},
                           Lift{.frequency_factor = 0.0},
                           Lift{.coupling_factor = 1.1},
                           Lift{.travel_m = -0.1}})
    EXPECT_FALSE(recommended_weight_kg(lift).has_value());
}

CartonRequest lp_carton() {
  const auto usual = usual_packing(0.301, false).value();
  return {.disc = usual.disc,
          .carton = {.tare_kg = usual.tare_kg, .wall_m = usual.wall_m},
          .lifting_limit_kg = usual_lifting_limit_kg,
          .count = usual.count};
}

// Common practice, no source: 25 LPs of 230 to 260 g filled make a carton of about 6.5 to 7.5 kg.
TEST(CartonFill, MakesTheUsualCartonOfTwentyFive) {
  const CartonFill fill = fill_carton(lp_carton()).value();
  EXPECT_EQ(fill.discs, 25);
  EXPECT_EQ(fill.limit, FillLimit::count_asked);
  EXPECT_GE(lp_carton().disc.mass_kg(), 0.230);
  EXPECT_LE(lp_carton().disc.mass_kg(), 0.260);
  EXPECT_GE(fill.gross_kg, 6.5);
  EXPECT_LE(fill.gross_kg, 7.5);
}

// Second road: counting up disc by disc until a limit would be passed.
TEST(CartonFill, IsWhatCountingUpGives) {
  for (const double limit_kg : {3.0, 5.0, 6.45, 7.25, 12.0})
    for (const double row_m : {0.0, 0.05, 0.1, 0.12})
      for (const std::int64_t count : {0, 7, 30}) {
        CartonRequest request = lp_carton();
        request.lifting_limit_kg = limit_kg;
        request.carton.inner_length_m = row_m;
        request.count = count;
        std::int64_t discs = 0;
        while (true) {
          const double n = static_cast<double>(discs + 1);
          if (request.carton.tare_kg + n * request.disc.mass_kg() > limit_kg + 1e-9) break;
          if (row_m > 0.0 && n * request.disc.thickness_m > row_m + 1e-9) break;
          if (count > 0 && discs + 1 > count) break;
          ++discs;
        }
        const auto fill = fill_carton(request);
        ASSERT_TRUE(fill.has_value());
        EXPECT_EQ(fill->discs, discs) << limit_kg << " kg, " << row_m << " m, " << count;
        EXPECT_LE(fill->gross_kg, limit_kg + 1e-9);
      }
}

TEST(CartonFill, RefusesWhatCannotBe) {
  const auto refused = [](const std::function<void(CartonRequest&)>& spoil) {
    CartonRequest request = lp_carton();
    spoil(request);
    return !fill_carton(request).has_value();
  };
  EXPECT_TRUE(refused([](auto& r) { r.lifting_limit_kg = 0.5; }));  // not one goes in
  EXPECT_TRUE(refused([](auto& r) { r.carton.inner_length_m = 0.003; }));
  EXPECT_TRUE(refused([](auto& r) { r.disc.disc_mass_kg = nan; }));
  EXPECT_TRUE(refused([](auto& r) { r.lifting_limit_kg = infinity; }));
  EXPECT_TRUE(refused([](auto& r) { r.disc.thickness_m = 0.0; }));
  EXPECT_TRUE(refused([](auto& r) { r.count = -1; }));
  EXPECT_FALSE(usual_packing(0.2, false).has_value());
  EXPECT_FALSE(usual_packing(nan, true).has_value());
}

bool lies_well(const std::vector<CartonPlace>& places,
               const Footprint& pallet,
               const Footprint& carton) {
  const auto size = [&](const CartonPlace& place) {
    return place.turned ? Footprint{carton.width_m, carton.length_m} : carton;
  };
  for (std::size_t i = 0; i < places.size(); ++i) {
    const Footprint one = size(places[i]);
    if (places[i].x_m < -1e-9 || places[i].y_m < -1e-9 ||
        places[i].x_m + one.length_m > pallet.length_m + 1e-9 ||
        places[i].y_m + one.width_m > pallet.width_m + 1e-9)
      return false;
    for (std::size_t j = 0; j < i; ++j) {
      const Footprint other = size(places[j]);
      if (places[i].x_m < places[j].x_m + other.length_m - 1e-9 &&
          places[j].x_m < places[i].x_m + one.length_m - 1e-9 &&
          places[i].y_m < places[j].y_m + other.width_m - 1e-9 &&
          places[j].y_m < places[i].y_m + one.width_m - 1e-9)
        return false;
    }
  }
  return true;
}

/// The most rectangles of a by b on a floor of whole units, by trying everything, corner by corner.
class Exhaustive {
 public:
  Exhaustive(int length, int width, int a, int b)
      : length_{length},
        width_{width},
        a_{a},
        b_{b},
        used_(static_cast<std::size_t>(length * width)) {}
  int best() {
    search(0, 0);
    return best_;
  }

 private:
  unsigned char& at(int x, int y) { return used_[static_cast<std::size_t>(y * length_ + x)]; }
  bool fits(int x, int y, int a, int b) {
    if (x + a > length_ || y + b > width_) return false;
    for (int i = x; i < x + a; ++i)
      for (int j = y; j < y + b; ++j)
        if (at(i, j) != 0) return false;
    return true;
  }
  void mark(int x, int y, int a, int b, bool value) {
    for (int i = x; i < x + a; ++i)
      for (int j = y; j < y + b; ++j) at(i, j) = value ? 1 : 0;
  }
  void search(int cell, int count) {
    const int cells = length_ * width_;
    int free = 0;
    for (int i = cell; i < cells; ++i) free += used_[static_cast<std::size_t>(i)] == 0 ? 1 : 0;
    if (count + free / (a_ * b_) <= best_) return;
    while (cell < cells && used_[static_cast<std::size_t>(cell)] != 0) ++cell;
    if (cell == cells) {
      best_ = std::max(best_, count);
      return;
    }
    const int x = cell % length_, y = cell / length_;
    for (const auto& [a, b] : {std::pair{a_, b_}, std::pair{b_, a_}}) {
      if (!fits(x, y, a, b)) continue;
      mark(x, y, a, b, true);
      search(cell, count + 1);
      mark(x, y, a, b, false);
      if (a_ == b_) break;
    }
    used_[static_cast<std::size_t>(cell)] = 1;  // left free
    best_ = std::max(best_, count);
    search(cell + 1, count);
    used_[static_cast<std::size_t>(cell)] = 0;
  }
  int length_, width_, a_, b_;
  std::vector<unsigned char> used_;
  int best_{};
};

// Second road: exhaustive search on floors of up to 9 by 8 units. The five-block pattern is never more than the best, and
// on these floors it is the best.
TEST(PalletPattern, IsAsGoodAsExhaustiveSearchOnSmallFloors) {
  for (const auto& [length, width] :
       {std::pair{6, 4}, std::pair{6, 5}, std::pair{7, 5}, std::pair{8, 7}, std::pair{9, 7}})
    for (const auto& [a, b] :
         {std::pair{3, 2}, std::pair{4, 3}, std::pair{5, 2}, std::pair{3, 3}}) {
      const Footprint floor{0.1 * length, 0.1 * width}, carton{0.1 * a, 0.1 * b};
      const auto places = pallet_pattern(floor, carton).value();
      EXPECT_EQ(static_cast<int>(places.size()), Exhaustive(length, width, a, b).best())
          << length << "x" << width << " of " << a << "x" << b;
      EXPECT_TRUE(lies_well(places, floor, carton));
    }
}

// Known patterns: 8 cartons of 400 x 300 on 1200 x 800; the pinwheel of four round a hole; five by blocks.
TEST(PalletPattern, FindsTheKnownPatterns) {
  EXPECT_EQ(pallet_pattern({1.2, 0.8}, {0.4, 0.3}).value().size(), 8U);
  EXPECT_EQ(pallet_pattern({1.0, 1.0}, {0.6, 0.4}).value().size(), 4U);
  EXPECT_EQ(pallet_pattern({1.2, 1.0}, {0.6, 0.4}).value().size(), 5U);
  EXPECT_TRUE(pallet_pattern({0.3, 0.3}, {0.4, 0.4}).value().empty());
  const Footprint pallet{1.219, 1.016};
  for (const double length : {0.093, 0.11, 0.135, 0.21, 0.33, 0.4, 0.7})
    for (const double width : {0.09, 0.2, 0.33}) {
      const auto places = pallet_pattern(pallet, {length, width}).value();
      EXPECT_TRUE(lies_well(places, pallet, {length, width})) << length << " " << width;
      const double filled = static_cast<double>(places.size()) * length * width;
      EXPECT_LE(filled, pallet.length_m * pallet.width_m);
      EXPECT_GE(filled, (length < 0.4 ? 0.7 : 0.5) * pallet.length_m * pallet.width_m);
    }
  for (const Footprint& wrong :
       {Footprint{nan, 0.3}, Footprint{0.0, 0.3}, Footprint{infinity, 1.0}, Footprint{-1.0, 0.3}})
    EXPECT_FALSE(pallet_pattern({1.2, 0.8}, wrong).has_value());
}

// Property: no disc is lost between cartons, no carton between pallets, and masses add up.
TEST(PackOrder, NothingIsLostBetweenCartonsAndPallets) {
  const CartonRequest carton = lp_carton();
  for (const std::int64_t discs : {1, 24, 25, 26, 2400, 2401, 12345}) {
    const OrderPacking packing = pack_order(discs, carton, pallet_kind("1200x800").value()).value();
    EXPECT_EQ(packing.full_cartons * packing.carton.discs + packing.last_carton_discs, discs);
    EXPECT_LT(packing.last_carton_discs, packing.carton.discs);
    EXPECT_EQ((packing.pallets - 1) * packing.cartons_on_pallet + packing.last_pallet_cartons,
              packing.cartons());
    EXPECT_GE(packing.last_pallet_cartons, 1);
    EXPECT_LE(packing.last_pallet_cartons, packing.cartons_on_pallet);
    EXPECT_LE(packing.pallet_height_m, 1.2 + 1e-9);
    EXPECT_LE(packing.pallet_kg - 25.0, 750.0 + 1e-9);
    const double cartons_kg = static_cast<double>(packing.cartons()) * carton.carton.tare_kg +
                              static_cast<double>(discs) * carton.disc.mass_kg();
    EXPECT_NEAR(packing.gross_kg, cartons_kg + 25.0 * static_cast<double>(packing.pallets), 1e-6);
  }
  EXPECT_FALSE(pack_order(0, carton, pallet_kind("1200x800").value()).has_value());
  EXPECT_FALSE(pallet_kind("1200x801").has_value());
  PalletKind low = pallet_kind("1200x800").value();
  low.stack_height_m = 0.3;
  const auto none = pack_order(100, carton, low);
  ASSERT_FALSE(none.has_value());
  EXPECT_EQ(none.error().fault, Fault::conflict);
}

TEST(OrderBalance, IsTheOrderLessWhatLeftAndWhatIsCredited) {
  const OrderCount count{.ordered = 2400, .most = 2450, .shipped = 2300, .credited = 40};
  EXPECT_EQ(still_owed(count), 60);
  EXPECT_EQ(may_still_leave(count), 110);
  EXPECT_TRUE(may_ship(count, 110).has_value());
  EXPECT_EQ(may_ship(count, 111).error().fault, Fault::conflict);
  EXPECT_TRUE(may_credit(count, 60).has_value());
  EXPECT_FALSE(may_credit(count, 61).has_value());
  EXPECT_FALSE(may_credit(count, 0).has_value());
  EXPECT_EQ(still_owed({.ordered = 10, .most = 12, .shipped = 12, .credited = 0}), 0);
}

}  // namespace
}  // namespace goodside::dispatch
