#pragma once
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "base/result.hpp"
#include "dispatch/pallet_pattern.hpp"

namespace goodside::dispatch {

/// A disc as a body.
struct DiscBody {
  double diameter_m{}, hole_diameter_m{};
  double mean_thickness_m{};  ///< volume over area: groove area and raised middle together
  double density_kg_per_m3{};
};
/// Its mass [kg]:  rho pi/4 (D² - d²) t.  Valid: 50 to 500 mm, 0.3 to 5 mm, 500 to 5000 kg/m3.
/// Errors: Fault::out_of_range.
Result<double> disc_mass_kg(const DiscBody& body);

/// One disc as it stands in the carton: in its sleeve, cover and whatever is between it and the next.
struct SleevedDisc {
  double disc_mass_kg{};
  double wrapping_mass_kg{};  ///< inner sleeve, cover, inserts, interleaf
  double side_m{};            ///< of the square cover
  double thickness_m{};       ///< filled, as it takes room in the row
  [[nodiscard]] double mass_kg() const { return disc_mass_kg + wrapping_mass_kg; }
};

/// The carton: discs stand on edge in one row (leaning or lying discs bend).
struct CartonKind {
  double tare_kg{};
  double wall_m{};            ///< of the board, each side
  double inner_length_m{};    ///< along the row; 0: made to fit `count`
  double clearance_m{0.005};  ///< across the row and above, that discs go in and out
};

enum class FillLimit { row_length, lifting_limit, count_asked };
[[nodiscard]] std::string_view word(FillLimit);

/// How many discs go into a carton.
struct CartonFill {
  std::int64_t discs{};                         ///< to a full carton
  std::optional<std::int64_t> by_row_length{};  ///< absent: the carton is made to fit
  std::int64_t by_lifting_limit{};
  FillLimit limit{};  ///< which of them holds
  double gross_kg{};  ///< of a full carton
  double outer_length_m{}, outer_width_m{}, outer_height_m{};
};
struct CartonRequest {
  SleevedDisc disc{};
  CartonKind carton{};
  double lifting_limit_kg{};
  std::int64_t
      count{};  ///< the customer's or the works' usual number, never more; 0: as many as go in
};
/// The least of three: what the row holds, what may be lifted (gross), what was asked for.
/// Errors: Fault::out_of_range for impossible figures; Fault::conflict where not one disc may go in.
Result<CartonFill> fill_carton(const CartonRequest& request);

/// A pallet and how high it may be stacked.
struct PalletKind {
  std::string_view name{};
  Footprint base;
  double tare_kg{25.0}, deck_height_m{0.144};
  double stack_height_m{1.2};  ///< deck and cartons
  double load_kg{750.0};       ///< of cartons
};
/// Of ISO 6780, from memory: 1200x1000, 1200x800, 1219x1016, 1140x1140, 1100x1100, 1067x1067 mm.
/// Errors: Fault::not_found, listing them.
Result<PalletKind> pallet_kind(std::string_view name);

/// How an order leaves: cartons, layers, pallets.
struct OrderPacking {
  CartonFill carton{};
  std::int64_t discs{};
  std::int64_t full_cartons{};
  std::int64_t last_carton_discs{};  ///< 0: every carton is full
  double last_carton_kg{};
  std::vector<CartonPlace> layer{};  ///< of a full layer
  std::int64_t layers{};             ///< of a full pallet
  std::int64_t cartons_on_pallet{};  ///< at most
  std::int64_t pallets{};
  std::int64_t last_pallet_cartons{};
  double pallet_kg{};        ///< gross, of a full one
  double pallet_height_m{};  ///< of a full one
  double gross_kg{};         ///< of all
  [[nodiscard]] std::int64_t cartons() const {
    return full_cartons + (last_carton_discs > 0 ? 1 : 0);
  }
};
/// `discs` of one order in cartons on pallets; no carton over the pallet's edge, height and load held.
/// Errors: those of fill_carton; Fault::conflict where no carton goes on the pallet.
Result<OrderPacking> pack_order(std::int64_t discs,
                                const CartonRequest& carton,
                                const PalletKind& pallet);

}  // namespace goodside::dispatch
