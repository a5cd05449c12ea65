#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "draw/paper.hpp"
#include "works/caution.hpp"
#include "works/mix_report.hpp"

namespace goodside::draw {

// The works' papers as plain structs, and each as the paper that draw_paper prints. Texts are as people read them; an
// empty one, and an absent figure, leaves its line out.

/// On every paper: whose it is, of which day, and where the record stood.
struct PaperStamp {
  std::string works{}, date{};
};
using PaperPairs = std::vector<std::pair<std::string, std::string>>;

/// Goes with a part of metal through the house.
struct PartTraveller {
  std::string code{}, kind{}, title{};
  PaperPairs facts{};
  struct Step {
    std::string when{}, what{}, readings{}, who{};
  };
  std::vector<Step> done{};
  std::vector<std::string> to_do{};  ///< steps that its kind still needs, in order
  works::Station station{};          ///< where the next of them is done
};
[[nodiscard]] PaperText part_traveller(const PartTraveller&, const PaperStamp&);

/// Goes with a run at the press.
struct RunTraveller {
  std::string code{}, title{};
  PaperPairs facts{}, cycle{};
  struct Pressed {
    std::string impressions{}, batch{}, mounting{}, counter{}, when{};
  };
  std::vector<Pressed> pressed{};
  std::int64_t blank_rows{4};  ///< to be filled in by hand
};
[[nodiscard]] PaperText run_traveller(const RunTraveller&, const PaperStamp&);

/// What is weighed into one batch of compound, in the order of charging. A column that no line fills is left out, save
/// what is written by hand.
struct WeighUp {
  std::string batch{};  ///< empty: a line to write it on
  std::string recipe{};
  PaperPairs facts{};
  struct Line {
    int charge{};  ///< place in the order of charging, from 1; 0: not told
    std::string ingredient{}, lot{}, hazard{}, scale{};
    int times{1};       ///< weighings, where the scale does not take it at once
    double asked_kg{};  ///< 0: not told
    std::optional<double> tolerance_kg{}, weighed_kg{};
  };
  std::vector<Line> lines{};
  std::vector<std::string> remarks{};   ///< when to dump, corrections
  std::vector<std::string> cautions{};  ///< of these ingredients; empty: the station's
};
[[nodiscard]] PaperText weigh_up_sheet(const WeighUp&, const PaperStamp&);
/// The sheet of a recipe as it was reckoned, before anything is weighed.
[[nodiscard]] WeighUp weigh_up_of(const works::MixReport&);

/// Both labels of a title at their own size, to be read by the customer before they are printed.
struct LabelProof {
  std::string code{}, title{};
  struct Side {
    CentreLabel label{};
    PaperPairs facts{};
    struct Track {
      std::string number{}, name{}, isrc{}, duration{};
    };
    std::vector<Track> tracks{};
  };
  std::vector<Side> sides{};
};
[[nodiscard]] PaperText label_proof(const LabelProof&, const PaperStamp&);

/// A carton as papers list it.
struct PackedCarton {
  std::string code{}, number{};  ///< number: SSCC, or empty
  std::string pallet{};
  std::int64_t discs{};
  std::string impressions{}, spindles{};
  std::optional<double> gross_kg{};
};

/// What is in a shipment, carton by carton.
struct PackingList {
  std::string code{}, title{}, to{};
  PaperPairs facts{};
  std::vector<PackedCarton> cartons{};
};
[[nodiscard]] PaperText packing_list(const PackingList&, const PaperStamp&);

/// What the carrier signs for.
struct ConsignmentNote {
  std::string code{}, from{}, to{}, carrier{};
  PaperPairs facts{};
  struct Goods {
    std::string what{};
    std::int64_t packages{}, discs{};
    std::optional<double> gross_kg{};
  };
  std::vector<Goods> goods{};
  std::vector<std::string> remarks{};
};
[[nodiscard]] PaperText consignment_note(const ConsignmentNote&, const PaperStamp&);

/// What was heard and looked at before an order left.
struct Certificate {
  std::string code{}, title{};
  PaperPairs facts{};
  std::vector<std::string> plan{};  ///< how the sample was drawn, in sentences
  struct Heard {
    std::string ticket{}, disc{}, side{}, verdict{}, plain{}, slight{}, offset{}, noise{};
  };
  std::vector<Heard> heard{};
  struct Looked {
    std::string range{}, looked{}, found{};
  };
  std::vector<Looked> looked{};
  std::vector<DiscSketch> discs{};
  std::vector<std::string> conclusion{};
};
[[nodiscard]] PaperText inspection_certificate(const Certificate&, const PaperStamp&);

}  // namespace goodside::draw
