#pragma once
#include <optional>
#include <string>
#include <vector>

namespace goodside::works {

/// A layer of a backed stamper, as it stands in the stack from the groove face to the back.
struct PlateLayer {
  std::string name{};  ///< "nickel"
  double thickness_m{}, modulus_Pa{}, poisson{}, expansion_per_K{};
};

/// A solder as its maker states it.
struct Solder {
  std::string name{};
  double solidus_K{}, liquidus_K{};
  bool leaded{};
};

/// The stack at one temperature, free to bow. The curvature is positive where the back side is the longer and bulges.
struct BowAt {
  std::string when{};  ///< "at 20 °C, off the press"
  double temperature_K{};
  double linear_curvature_per_m{};  ///< of thin-plate theory for small bows
  double curvature_per_m{};         ///< with the stretching that a bowl needs
  double linear_sag_m{}, sag_m{};   ///< centre against edge
  bool outgrown{};                  ///< the two differ by more than a tenth
  bool may_roll{};                  ///< past the bowl that turns into a roll
  std::vector<double> stress_Pa{},
      flat_stress_Pa{};    ///< greatest in each layer: bowed freely, and pressed flat
  double flattening_Pa{};  ///< even pressure whose bending is of the order of the bow
};

struct SolderChoice {
  Solder solder;
  double margin_K{};  ///< solidus over the press's hottest moment
  bool fit{};
  std::string why{};
};

struct BackingReport {
  std::vector<PlateLayer> layers{};
  std::string solder{};
  double radius_m{};
  double flat_limit_m{};
  std::string flat_limit_from{};
  std::vector<BowAt> bows{};
  double solder_share_of_melting{};  ///< room over solidus, both absolute
  std::vector<SolderChoice> solders{};
  double hottest_K{}, least_margin_K{};
  bool solder_fit{}, flat{};
  std::vector<std::string> remarks{};
};

// Vinyl stampers, whose back lies bare on the die.

struct GaugeReading {
  double x_m{}, y_m{}, thickness_m{};
};

struct ThicknessMap {
  double mean_m{};                                         ///< over the disc of the fit
  double wedge_m{}, wedge_sigma_m{}, thick_towards_deg{};  ///< thick side over thin, edge to edge
  double dome_m{}, dome_sigma_m{};                         ///< centre over edge
  double scatter_m{}, least_m{}, most_m{};
  double radius_m{};
  std::vector<GaugeReading> readings{};
  std::vector<bool> kept{};
  double disc_thickness_m{}, centre_of_gravity_m{}, gravity_limit_m{};
  double slower_fill{};  ///< pressure over the thickest place, against the mean
  double range_limit_m{};
  std::string range_limit_from{};
  bool within{};
  std::vector<std::string> remarks{};
};

struct BackSurface {
  double roughness_m{}, spacing_m{}, thickness_m{}, pressure_Pa{};
  double limit_m{};
  std::string limit_from{};
  double printed_m{};                         ///< of the back's height that reaches the groove face
  double outer_level_dB{}, inner_level_dB{};  ///< of its vertical velocity, re 5 cm/s peak
  bool within{};
};

/// The bend that forms the edge or the centre.
struct Forming {
  double thickness_m{}, inner_radius_m{};
  double strain{}, limit{};
  double least_radius_m{};
  bool within{};
};

struct BareBackReport {
  std::optional<ThicknessMap> map;
  std::optional<BackSurface> surface;
  std::optional<Forming> edge, centre;
  bool within{true};
  std::vector<std::string> remarks{};
};

}  // namespace goodside::works
