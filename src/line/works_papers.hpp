#pragma once
#include <string>
#include <vector>

#include "draw/label.hpp"
#include "draw/work_papers.hpp"
#include "line/desk.hpp"
#include "line/plan_packing.hpp"

namespace goodside::line {

/// The papers of the house; each is of one thing of the record.
enum class PaperKind {
  traveller,         ///< of a part or a run
  weigh_up,          ///< of a batch
  label_proof,       ///< of a title
  packing_list,      ///< of a shipment
  certificate,       ///< of an order or a shipment
  consignment_note,  ///< of a shipment
};
/// By the words of the above. Errors: Fault::bad_input, naming them.
Result<PaperKind> read_paper_kind(std::string_view typed);

struct PaperWish {
  PaperKind kind{};
  std::string code;
  std::string
      plan{};  ///< certificate: how the sample was to be drawn, in the words of whoever planned it
  std::string folder{};  ///< of the works: its reports are drawn on a certificate
  std::string works{};   ///< its name
  std::string address{};
  std::string date{};
};
/// The paper filled in from the record. Errors: Fault::not_found where there is no such thing; Fault::bad_input where the
/// paper is none of it; those of a report's file.
Result<draw::PaperText> works_paper(ledger::Record& record, const PaperWish& wish);

/// Labels of cartons, pallets, shipments (of all that is in them) and sample tickets, by code.
/// Errors: Fault::not_found.
Result<std::vector<draw::UnitLabel>> works_labels(ledger::Record& record,
                                                  const std::vector<std::string>& codes,
                                                  const std::string& works);

}  // namespace goodside::line
