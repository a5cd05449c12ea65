#pragma once
#include <memory>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/canvas.hpp"

namespace goodside::draw {

struct DrawnPaper;

/// Sheets of one paper, one after the other: a PDF holds them all, PNG and SVG are a file each.
class Sheets {
 public:
  Sheets(PictureFormat format, const Paper& paper) : format_{format}, paper_{paper} {}
  /// Begins the next. Errors: Fault::io; Fault::out_of_range beyond `most`.
  Outcome next();
  [[nodiscard]] Canvas& canvas() { return *canvas_; }
  [[nodiscard]] std::size_t count() const { return count_; }  ///< begun so far
  Result<DrawnPaper> finish();

  static constexpr std::size_t most = 2000;

 private:
  Outcome close();
  PictureFormat format_;
  Paper paper_;
  std::unique_ptr<Canvas> canvas_;
  std::size_t count_{};
  std::vector<std::string> files_;
  std::vector<std::vector<PlacedText>> texts_;
};

}  // namespace goodside::draw
