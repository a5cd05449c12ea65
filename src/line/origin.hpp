#pragma once
#include <optional>
#include <string>
#include <vector>

#include "ledger/record.hpp"

namespace goodside::line {

using ledger::Row;

/// Where one disc came from: everything that the record knows had a hand in it.
struct Origin {
  std::int64_t impression{};               ///< of the run
  std::optional<std::int64_t> of_title{};  ///< the same, counted over all runs of the title
  Row run{}, order{}, title{};
  Row pressing{};                          ///< the range it was pressed in
  std::optional<Row> mounting{}, press{};  ///< nothing where an older card did not say
  std::optional<Row> recipe{}, batch{};
  std::vector<Row> lots{};              ///< weighed into the batch
  std::vector<Row> biscuits{};          ///< cut from it
  std::vector<Row> side_a{}, side_b{};  ///< stamper, mother, father, lacquer …
  std::optional<Row> cut_a{}, cut_b{};
  /// How many closings the stampers had made before this one, over all their mountings.
  std::int64_t age_a{}, age_b{};
  std::vector<Row> tickets{};         ///< whose interval it may be
  std::vector<works::Holding> now{};  ///< stock that it is in, or may be
};

/// Errors: Fault::not_found where the run has made no such impression.
Result<Origin> origin_of(ledger::Record& record, const std::string& run, std::int64_t impression);

/// The same within other questions; throws ledger::Refused.
[[nodiscard]] Origin origin_within(ledger::Reader& reader,
                                   const std::string& run,
                                   std::int64_t impression);

/// Stock of one run that came from the thing asked about. Where `sure` is false, some of these
/// discs may lie outside the impressions that it touched.
struct Stock {
  std::string run;
  works::Holding holding;
  bool sure{};
};
struct Whereabouts {
  std::string of;              ///< the code asked about
  std::int64_t impressions{};  ///< made from it
  std::vector<Row> parts{};    ///< its descent, itself first, where it is a part
  std::vector<Stock> stock{};
};

/// Where the discs are now that came from a part (with all that grew from it), a mounting, a batch,
/// a run, an order, a title, or that lie in a carton, on a spindle or in a shipment.
/// Errors: Fault::not_found.
Result<Whereabouts> whereabouts(ledger::Record& record, const std::string& code);
/// The same within other questions; throws ledger::Refused.
[[nodiscard]] Whereabouts whereabouts_within(ledger::Reader& reader, const std::string& code);

/// The row with this code, of whatever noun.
struct Found {
  const works::Kind* kind{};
  Row row;
};
/// Errors: Fault::not_found.
Result<Found> find_thing(ledger::Record& record, const std::string& code);
[[nodiscard]] std::optional<Found> find_within(ledger::Reader& reader, const std::string& code);

}  // namespace goodside::line
