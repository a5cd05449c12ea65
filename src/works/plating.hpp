#pragma once
#include <optional>
#include <string>
#include <vector>

namespace goodside::works {

/// What is dissolved in a bath. 1 g/L is 1 kg/m3.
struct BathSalt {
  std::string name;
  double concentration_kg_per_m3{};
  double metal_share{};  ///< mass of the metal laid per mass of the salt; 0: it carries none
};

/// A metal with the bath that lays it. Built-in ones: metal/metals.hpp; a works' own: intake/metals.hpp.
struct PlatingMetal {
  std::string name;
  double molar_mass_kg_per_mol{};
  double density_kg_per_m3{};
  int electrons_per_ion{};
  double cathode_efficiency{};             ///< share of the charge that lays metal, in (0, 1]
  double current_density_A_per_m2{};       ///< usual, at the cathode
  double low_A_per_m2{}, high_A_per_m2{};  ///< what the bath takes
  double usual_thickness_m{};
  double conductivity_S_per_m{};
  double tafel_slope_V_per_decade{};
  double exchange_current_density_A_per_m2{};
  bool soluble_anode{true};
  double anode_efficiency{1.0};
  double drag_out_film_m{1e-4};  ///< bath carried off per wetted area: 0.1 mm is 100 mL/m2
  double brightener_m3_per_C{};  ///< additive used by charge; 0: none
  double elastic_modulus_Pa{};
  double poisson_ratio{};
  std::vector<BathSalt> salts{};
  std::vector<std::string> cautions{};  ///< hazards, a sentence each
  std::vector<std::string> warnings{};  ///< of the process, a sentence each
  std::string source{};                 ///< where the figures come from
};

/// What the face is when the current is switched on.
enum class StartingFace { bare, silvered, passivated };

/// One stage of a run: the current goes evenly from one value to the other.
struct CurrentStage {
  double from_A{}, to_A{}, time_s{};
};

/// A flat insulating ring before the disc.
struct CellShield {
  double opening_radius_m{};
  double distance_m{};  ///< from the disc's face to the ring's nearer side
  double thickness_m{};
  double outer_radius_m{};  ///< the cell's radius: it closes on the wall
};

/// A cell round the disc's axis. Heights count from the disc's face towards the anode.
struct PlatingCell {
  double disc_radius_m{};
  double holder_radius_m{};   ///< insulating, flush with the face
  double holder_height_m{};   ///< the face above the floor (or the wall behind); 0: let into it
  double rim_height_m{};      ///< the holder's edge stands so far above the face
  double cell_radius_m{};     ///< insulating wall
  double level_m{};           ///< liquid above the face; the far wall where the axis lies level
  double anode_distance_m{};  ///< basket's nearer side
  double anode_radius_m{};
  double anode_inner_radius_m{};  ///< 0: a full disc
  double anode_thickness_m{};
  double conductivity_S_per_m{};
  std::optional<CellShield> shield{};
};

/// How the cathode answers an overpotential eta (positive where metal is laid):
///   primary: eta = 0;  linear: i = eta / resistance;  tafel: i = i0 10^(eta / slope);
///   butler_volmer: i = i0 [exp(a_c F eta / RT) - exp(-a_a F eta / RT)].
enum class KineticLaw { primary, linear, tafel, butler_volmer };
struct Kinetics {
  KineticLaw law{KineticLaw::tafel};
  double resistance_ohm_m2{};
  double exchange_current_density_A_per_m2{};
  double slope_V_per_decade{};
  double cathodic_coefficient{}, anodic_coefficient{};
  double temperature_K{298.15};
};

/// Thickness along the radius at one time.
struct ThicknessProfile {
  std::vector<double> radius_m;     ///< middles of rings, growing
  std::vector<double> thickness_m;  ///< the same length
};

/// The band of the disc that carries groove, and how even the deposit is over it.
struct BandSpread {
  double inner_radius_m{}, outer_radius_m{};
  double least_m{}, least_radius_m{}, most_m{}, most_radius_m{};
  double mean_m{};    ///< by area
  double evenness{};  ///< (most - least) / (most + least): the band is within +- so much
};

/// Potential and lines of current over the half section, on the lines of the mesh.
struct CellSection {
  std::vector<double> radius_m, height_m;  ///< lines; cells lie between them
  std::vector<double> potential_V;         ///< of cells, radius fastest; NaN: no liquid
  std::vector<double>
      current_share;  ///< on crossings, radius fastest: share of the current through the disc of that radius at that height
};

struct CellResult {
  PlatingCell cell;
  Kinetics kinetics;
  ThicknessProfile profile;  ///< at the end of the run
  BandSpread band;
  double voltage_V{};  ///< ohmic drop and the cathode's overpotential, at the last current
  double ohmic_resistance_ohm{};  ///< primary resistance of this cell
  double wagner{};          ///< kappa (d eta / d i) / disc radius, at the mean current density
  double charge_balance{};  ///< |anode - cathode current| / current
  int unknowns{}, iterations{};
  CellSection section{};
};

struct BathUse {
  std::string what;
  double mass_kg{};
};

struct BathUpkeep {
  double anode_dissolved_kg{};  ///< of soluble anodes
  double metal_gained_kg{};     ///< anode less cathode: the bath gains (or, negative, loses) it
  double drag_out_m3{};
  double brightener_m3{};
  double hydrogen_m3{};  ///< at 25 degC and 101325 Pa, if all lost current makes hydrogen
  std::vector<BathUse>
      used;  ///< salts to add: by drag-out, and with insoluble anodes by the deposit
};

/// Stress from a strip or a spiral, and the bow that it gives.
struct DepositStress {
  double stress_Pa{};             ///< tensile positive
  std::string from;               ///< "strip", "spiral" or "given"
  std::optional<double> bow_m{};  ///< of the disc's middle against its edge
  double curvature_per_m{};
  double base_thickness_m{};
  std::string bow_word{};  ///< where thin-plate theory ends
};

/// Answer of `goodside plate`.
struct PlatingReport {
  PlatingMetal metal;
  StartingFace face{StartingFace::bare};
  double area_m2{}, disc_radius_m{};
  std::vector<CurrentStage> stages{};
  double time_s{}, charge_C{}, mass_kg{}, mean_thickness_m{};
  std::optional<double> target_m{};
  std::optional<double>
      target_time_s{};  ///< mean, or with a cell the thinnest place of the band, at the target
  BathUpkeep upkeep{};
  std::optional<CellResult> spread{};
  std::optional<CellResult> before{};  ///< without the shield that was sought
  std::optional<double> wanted_evenness{};
  int cells_tried{};
  std::optional<DepositStress> stress{};
  std::vector<std::string> warnings{}, cautions{};
  std::string part{};
};

}  // namespace goodside::works
