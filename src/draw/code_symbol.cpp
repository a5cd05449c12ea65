#include "draw/code_symbol.hpp"

#include <cairo.h>
#include <fmt/format.h>
#include <zint.h>

#include <algorithm>
#include <cmath>
#include <memory>

namespace goodside::draw {
namespace {

struct Delete {
  void operator()(zint_symbol* symbol) const { ZBarcode_Delete(symbol); }
};

struct Kind {
  int symbology{};
  bool gs1{}, matrix{};
};

/// Down to whole dots of a printer of 300 dots an inch, so that every module of a print has the same width.
double whole_dots(double mm) {
  constexpr double dot_mm = 25.4 / 300.0;
  return std::floor(mm / dot_mm + 1e-6) * dot_mm;
}

Result<CodeSymbol> encode(const Kind& kind, const std::string& text) {
  if (text.empty()) return Error{Fault::bad_input, "an empty text has no code; give one"};
  const std::unique_ptr<zint_symbol, Delete> symbol{ZBarcode_Create()};
  symbol->symbology = kind.symbology;
  symbol->input_mode = kind.gs1 ? GS1_MODE : UNICODE_MODE;
  symbol->show_hrt = 0;
  if (kind.symbology == BARCODE_DATAMATRIX) symbol->option_3 = DM_SQUARE;
  // A warning too: an element string with a wrong check digit is one.
  std::string bytes = text;
  const int status = ZBarcode_Encode(symbol.get(),
                                     reinterpret_cast<const unsigned char*>(bytes.c_str()),
                                     static_cast<int>(bytes.size()));
  if (status != 0 || symbol->rows < 1 || symbol->width < 1)
    return Error{Fault::bad_input,
                 fmt::format("\"{}\" cannot be put into a code for scanners: {}",
                             text.substr(0, 60),
                             static_cast<const char*>(symbol->errtxt))};
  CodeSymbol made{.columns = symbol->width,
                  .rows = kind.matrix ? symbol->rows : 1,
                  .dark = {},
                  .matrix = kind.matrix};
  for (int row = 0; row < made.rows; ++row)
    for (int column = 0; column < made.columns; ++column)
      made.dark.push_back(((symbol->encoded_data[row][column / 8] >> (column % 8)) & 1) != 0);
  return made;
}

}  // namespace

Result<CodeSymbol> code_128(const std::string& text) {
  for (const char letter : text)
    if (letter < ' ' || letter > '~')
      return Error{
          Fault::bad_input,
          fmt::format("\"{}\" has a letter that bars do not hold; codes are plain letters, "
                      "digits and dashes",
                      text.substr(0, 60))};
  return encode({.symbology = BARCODE_CODE128}, text);
}

Result<CodeSymbol> gs1_128(const std::string& elements) {
  return encode({.symbology = BARCODE_GS1_128, .gs1 = true}, elements);
}

Result<CodeSymbol> data_matrix(const std::string& text) {
  return encode({.symbology = BARCODE_DATAMATRIX, .matrix = true}, text);
}

Result<CodeSymbol> gs1_data_matrix(const std::string& elements) {
  return encode({.symbology = BARCODE_DATAMATRIX, .gs1 = true, .matrix = true}, elements);
}

Result<CodeSymbol> ean_upc(const std::string& gtin) {
  return encode({.symbology = gtin.size() == 12 ? BARCODE_UPCA_CHK : BARCODE_EANX_CHK}, gtin);
}

Result<Box> draw_symbol(Canvas& canvas, const CodeSymbol& symbol, const SymbolPlace& place) {
  const int across = symbol.columns + 2 * symbol.quiet();
  const int up = symbol.rows + 2 * symbol.quiet();
  double module = std::min(place.most_module, place.within.width / across);
  if (symbol.matrix) module = std::min(module, place.within.height / up);
  module = whole_dots(module);
  if (module < place.least_module)
    return Error{
        Fault::out_of_range,
        fmt::format("a code of {} modules does not go into {:.0f} mm so that a scanner reads it; "
                    "take a larger label or paper",
                    across,
                    place.within.width)};
  const double spare = std::max(0.0, place.within.width - across * module);
  const Box filled{whole_dots(place.within.x + (symbol.matrix ? spare : spare / 2.0)),
                   whole_dots(place.within.y),
                   across * module,
                   symbol.matrix ? up * module : place.within.height};
  cairo_t* pen = canvas.pen();
  cairo_save(pen);
  cairo_new_path(pen);
  const double row_height = symbol.matrix ? module : filled.height;
  const double left = filled.x + symbol.quiet() * module;
  const double top = filled.y + (symbol.matrix ? symbol.quiet() * module : 0.0);
  for (int row = 0; row < symbol.rows; ++row)
    for (int column = 0; column < symbol.columns;) {
      int end = column;
      while (end < symbol.columns && symbol.at(row, end)) ++end;
      if (end > column)
        cairo_rectangle(pen,
                        left + column * module,
                        top + row * row_height,
                        (end - column) * module,
                        row_height);
      column = std::max(end, column + 1);
    }
  canvas.ink({});
  // Grey at a bar's edge is half a wrong module; neighbouring rows must not show a seam.
  cairo_set_antialias(pen, CAIRO_ANTIALIAS_NONE);
  cairo_fill(pen);
  cairo_restore(pen);
  return filled;
}

}  // namespace goodside::draw
