#include "line/hold_part.hpp"

#include <fmt/format.h>

#include "line/origin.hpp"

namespace goodside::line {

using ledger::at;
using ledger::text;
using ledger::whole;

Result<SuspectOrder> suspects_of_part(ledger::Record& record,
                                      const std::string& part,
                                      const std::string& reason) {
  if (reason.empty()) return Error{Fault::bad_input, "a hold needs a reason; say what was seen"};
  SuspectOrder order{
      .side = {}, .fault = 0, .impressions = {}, .reason = fmt::format("{}: {}", part, reason)};
  const auto asked = record.read([&](ledger::Reader& reader) {
    order.side = text(at(reader.need("part", part), "side"));
    for (const Row& descended : whereabouts_within(reader, part).parts)
      for (const char* face : {"stamper_a", "stamper_b"})
        for (const Row& mounting : reader.standing("mounting", face, at(descended, "code")))
          for (const Row& made : reader.standing("pressing", "mounting", at(mounting, "code"))) {
            const std::int64_t first = whole(at(made, "title_first"));
            if (first < 1) continue;
            order.impressions.push_back(
                {first, first + whole(at(made, "last")) - whole(at(made, "first"))});
          }
  });
  if (!asked) return asked.error();
  if (order.side.empty() || order.impressions.empty())
    return Error{
        Fault::conflict,
        fmt::format("nothing was pressed from {} that the title counts; nothing is to be held",
                    part)};
  return order;
}

}  // namespace goodside::line
