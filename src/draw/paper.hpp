#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/result.hpp"
#include "draw/canvas.hpp"
#include "draw/centre_label.hpp"
#include "draw/words.hpp"
#include "works/listening_report.hpp"

namespace goodside::draw {

/// A code for scanners with what people read below it.
struct PaperCode {
  enum class Kind { none, code_128, gs1_128, data_matrix, gs1_data_matrix, ean_upc };
  Kind kind{Kind::none};
  std::string content{};  ///< GS1: element strings as `[00]…`
  std::string text{};     ///< empty: not written
};

struct PaperColumn {
  std::string head{};
  double share{1.0};  ///< of the width, against the others
  bool figures{};     ///< set to the right
};
struct PaperTable {
  std::vector<PaperColumn> columns{};
  std::vector<std::vector<std::string>> rows{};
  double least_row_mm{};  ///< for rows that are filled in by hand
};

/// A side that was heard, as a small outline with its faults.
struct DiscSketch {
  std::string caption{};  ///< "S-000002-1 A"
  works::ListeningReport report{};
};

/// A stretch of a paper, top to bottom: heading, sentences, pairs, table, label, discs, lines to sign on.
struct PaperPart {
  std::string heading{};
  std::vector<std::string> sentences{};
  std::vector<std::pair<std::string, std::string>> pairs{};
  PaperTable table{};
  std::optional<CentreLabel> label{};  ///< drawn at 1:1
  std::vector<DiscSketch> discs{};
  std::vector<std::string> to_sign{};
};

/// One paper: what it is, what it is about, in parts that run over as many sheets as they need.
struct PaperText {
  std::string what{};      ///< "Job traveller"
  std::string headline{};  ///< the title, or whom it is for
  std::string code{};      ///< of the thing it is about
  PaperCode symbol{};      ///< beside the head
  std::vector<PaperPart> parts{};
  std::string caution{};  ///< in the ruled frame at the foot of every sheet
  std::string works{}, date{};
};

/// A paper's size by name (a4, letter, a5, a6, 4x6in, 62x100) or as `105x148mm`.
/// Errors: Fault::bad_input, naming those there are; Fault::out_of_range under 40 mm or over 1.2 m.
Result<Paper> read_paper(std::string_view typed);

/// The drawn sheets: a PDF is one file of all, PNG and SVG a file a sheet; and where the texts stand [mm].
struct DrawnPaper {
  std::vector<std::string> files{};
  std::vector<std::vector<PlacedText>> sheets{};
};

/// Black on white, one column; long texts wrap and rows go on to further sheets, so that nothing leaves the paper. PNG at
/// 300 dots an inch. Valid: papers of 140 mm width and more (smaller ones: label.hpp).
/// Errors: Fault::bad_input for a letter that no installed font has (named), or a code that cannot be; out_of_range
/// where the paper is too small; Fault::io from cairo.
Result<DrawnPaper> draw_paper(const PaperText& text, PictureFormat format, const Paper& paper);

/// Whether every letter can be drawn. Errors: Fault::bad_input, naming the first that cannot and where it stands.
Outcome check_letters(const std::vector<std::string>& texts);

/// The symbol of a code. Errors: those of code_symbol.hpp; our own mistake for Kind::none.
Result<struct CodeSymbol> symbol_of(const PaperCode& code);

}  // namespace goodside::draw
