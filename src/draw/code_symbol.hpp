#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/canvas.hpp"

namespace goodside::draw {

/// The modules of a code for scanners, dark or light, row by row.
struct CodeSymbol {
  int columns{}, rows{};
  std::vector<bool> dark;  ///< [row * columns + column]
  bool matrix{};           ///< two-dimensional; else bars, of one row
  [[nodiscard]] bool at(int row, int column) const {
    return dark[static_cast<std::size_t>(row) * static_cast<std::size_t>(columns) +
                static_cast<std::size_t>(column)];
  }
  /// Light modules that must stay free on each side. Source: ISO/IEC 15417 (10 for Code 128), ISO/IEC 16022 (1 for
  /// Data Matrix, 2 here), from memory [ISO15417].
  [[nodiscard]] int quiet() const { return matrix ? 2 : 10; }
};

// By the barcode library. Errors: Fault::bad_input with its reason: what a code cannot hold, a wrong check digit in
// an element string.

/// Code 128: letters, digits and marks of ASCII. [ISO15417]
Result<CodeSymbol> code_128(const std::string& text);
/// GS1-128; element strings as `[00]106141412345678908`. [GS1]
Result<CodeSymbol> gs1_128(const std::string& elements);
/// Data Matrix, square, any bytes up to what it holds. [ISO15417]
Result<CodeSymbol> data_matrix(const std::string& text);
Result<CodeSymbol> gs1_data_matrix(const std::string& elements);
/// EAN-13 of 13 digits or UPC-A of 12, the check digit among them. [ISO15417]
Result<CodeSymbol> ean_upc(const std::string& gtin);

/// How a symbol is set on paper [mm].
struct SymbolPlace {
  Box within;  ///< its quiet zone included; bars stand in its middle, a matrix at the top right
  double
      least_module{};  ///< narrower modules are not printed well: 0.19 mm at 300 dpi, from memory
  double most_module{};
};
/// Draws it in black as large as the box lets it, its modules whole dots of 1/300 inch. Returns the box that it fills with its
/// quiet zone. Errors: Fault::out_of_range where the box is too small for `least_module`.
Result<Box> draw_symbol(Canvas& canvas, const CodeSymbol& symbol, const SymbolPlace& place);

}  // namespace goodside::draw
