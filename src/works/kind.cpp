#include "works/kind.hpp"

#include <fmt/format.h>

#include <array>
#include <string>

#include "base/expects.hpp"
#include "units/read.hpp"

namespace goodside::works {
namespace {

using enum Field::Type;

constexpr Field words(std::string_view name, std::string_view help, bool required = false) {
  return {.name = name, .help = help, .required = required};
}
constexpr Field count(std::string_view name, std::string_view help, bool required = false) {
  return {.name = name, .help = help, .type = whole, .required = required};
}
constexpr Field of(std::string_view name, std::string_view refers_to, bool required = false) {
  return {.name = name, .help = "", .type = code, .required = required, .refers_to = refers_to};
}
constexpr Field one_of(std::string_view name,
                       std::string_view choices,
                       std::string_view help,
                       bool required = false) {
  return {.name = name, .help = help, .type = choice, .required = required, .choices = choices};
}
constexpr Field amount(std::string_view name,
                       std::string_view unit,
                       Field::Read read,
                       std::string_view help) {
  return {.name = name, .help = help, .type = quantity, .read = read, .unit = unit};
}
constexpr Field date(std::string_view name, std::string_view help) {
  return {.name = name, .help = help, .type = instant};
}
/// Set by the record itself.
constexpr Field own(Field field) {
  field.own = true;
  return field;
}

constexpr std::array title_fields{words("name", "Of the title.", true),
                                  words("artist", ""),
                                  words("catalogue", "Catalogue number of the customer."),
                                  words("gtin", "EAN or UPC of the packed title.")};
constexpr std::array track_fields{
    of("side", "side", true),
    count("number", "On its side, from 1.", true),
    words("name", "", true),
    words("isrc", "International Standard Recording Code."),
    amount("programme_s", "s", units::duration_s, "Where it begins."),
    amount("duration_s", "s", units::duration_s, "How long it plays."),
};
constexpr std::array side_fields{
    of("title", "title", true),
    words("letter", "A, B, C …", true),
    words("format", "12in-33, 10in-78 …"),
    amount("speed_rpm", "rpm", units::rotation_rpm, "Turns a minute."),
    words("matrix", "Matrix number in the run-out."),
};
constexpr std::array cut_fields{
    of("side", "side", true),
    words("reference", "Path of the programme that was cut."),
    words("reference_sha256", "Of that file's bytes."),
    amount("speed_rpm", "rpm", units::rotation_rpm, "Turns a minute."),
    amount("outer_radius_m", "m", units::length_m, "Groove at the programme's start."),
    amount("inner_radius_m", "m", units::length_m, "Groove at its end."),
    amount("pitch_m", "m", units::pitch_m, "Mean, from groove to groove."),
};
constexpr std::array order_fields{of("title", "title", true),
                                  count("quantity", "Discs ordered.", true),
                                  words("format", "12in-33 …"),
                                  words("material", "Vinyl, shellac-type …"),
                                  date("due_ms", "Day it is promised for."),
                                  words("customer", ""),
                                  words("customer_reference", ""),
                                  count("most",
                                        "Most discs that the customer takes; without it the "
                                        "quantity.")};
constexpr std::array delivery_fields{of("order", "orders", true),
                                     words("to", "Where to.", true),
                                     count("quantity", "Discs of the order for there.", true),
                                     date("due_ms", "Day they are promised for.")};
constexpr std::array part_fields{
    one_of("kind", "lacquer|wax|father|mother|stamper", "What it is.", true),
    of("side", "side"),
    of("cut", "cut"),
    of("parent", "part"),
    count("grown", "Ordinal among its siblings; without it the next."),
    one_of("origin", "grown|bought|card", "card: from an older index; without it grown."),
    words("supplier", "Of bought-in metal or lacquer."),
    Field{.name = "presses", .help = "It goes on a press: stampers always.", .type = flag},
    one_of("state",
           "growing|finishing|ready|on press|resting|withdrawn|scrapped",
           "Only for bought parts and those from cards."),
    own(count("face", "Its face's number, 0 bare.")),
    own(Field{.name = "faced", .help = "", .type = flag}),
};
constexpr std::array step_fields{of("part", "part", true),
                                 words("what", "", true),
                                 count("face", ""),
                                 words("state_after", ""),
                                 of("mounting", "mounting")};
constexpr std::array reading_fields{of("step", "step", true),
                                    words("name", "With its unit: thickness_m.", true),
                                    Field{.name = "value", .help = "SI.", .type = quantity},
                                    words("said", "Where it is no number.")};
constexpr std::array recipe_fields{
    words("name", "", true),
    amount("steam_pressure_Pa", "Pa", units::pressure_Pa, "Gauge."),
    amount("mould_temperature_K", "K", units::temperature_K, ""),
    amount("steam_time_s", "s", units::duration_s, ""),
    amount("cooling_time_s", "s", units::duration_s, ""),
    amount("cycle_time_s", "s", units::duration_s, "Closing to closing."),
};
constexpr std::array batch_fields{words("recipe", "Name of the compound's recipe."),
                                  words("material", "", true),
                                  words("colour", ""),
                                  amount("mass_kg", "kg", units::mass_kg, "Of the whole mix."),
                                  words("supplier", "Of bought compound.")};
constexpr std::array weighing_fields{
    of("batch", "batch", true),
    words("ingredient", "", true),
    words("lot", "Supplier's lot."),
    amount("asked_kg", "kg", units::mass_kg, "By the recipe."),
    amount("weighed_kg", "kg", units::mass_kg, "As the scale said.")};
constexpr std::array biscuit_fields{of("batch", "batch", true),
                                    count("quantity", "How many of these."),
                                    amount("mass_kg", "kg", units::mass_kg, "Of one."),
                                    amount("diameter_m", "m", units::length_m, ""),
                                    amount("thickness_m", "m", units::length_m, "")};
constexpr std::array press_fields{words("name", "", true)};
constexpr std::array spindle_fields{words("name", "")};
constexpr std::array mounting_fields{of("press", "press", true),
                                     of("stamper_a", "part"),
                                     of("stamper_b", "part"),
                                     count("counter_from", "Press counter when mounted.", true),
                                     count("counter_to", "When taken off."),
                                     words("reason", "Why a new mounting began."),
                                     date("begun_ms", ""),
                                     date("ended_ms", "")};
constexpr std::array run_fields{of("order", "orders", true),
                                of("press", "press"),
                                one_of("purpose", "production|test", "Without it production."),
                                of("recipe", "recipe"),
                                own(of("title", "title", true))};
constexpr std::array pressing_fields{
    of("run", "run", true),
    of("mounting", "mounting"),
    of("batch", "batch"),
    of("recipe", "recipe"),
    count("first", "", true),
    count("last", "", true),
    count("title_first", "Impression of the title that `first` is."),
    one_of("purpose", "run|warm up|purge", ""),
    count("counter_from", ""),
    count("counter_to", "")};
constexpr std::array approval_fields{of("order", "orders", true),
                                     of("run", "run"),
                                     of("ticket", "ticket"),
                                     of("report", "report"),
                                     one_of("decision", "sent|approved|refused|waived", "", true),
                                     words("words", "What the customer said.")};
constexpr std::array ticket_fields{of("run", "run", true),
                                   count("first", "", true),
                                   count("last", "", true),
                                   of("mounting", "mounting"),
                                   count("counter", "Press counter reading."),
                                   of("spindle", "spindle"),
                                   words("reason", ""),
                                   one_of("heard", "waiting|good|bad", ""),
                                   count("held_first", ""),
                                   count("held_last", ""),
                                   words("name", "How its captures are called.")};
constexpr std::array inspection_fields{of("run", "run", true),
                                       count("first", ""),
                                       count("last", ""),
                                       of("spindle", "spindle"),
                                       of("carton", "carton"),
                                       count("looked", "Discs looked at.", true)};
constexpr std::array tally_fields{
    of("inspection", "inspection", true),
    one_of("reason",
           "chip|edge|label off|label torn|scuff|stain|blister|warp|colour|non-fill|other",
           "What was seen.",
           true),
    count("quantity", "Discs.", true)};
constexpr std::array complaint_fields{of("order", "orders"),
                                      of("run", "run"),
                                      of("ticket", "ticket"),
                                      of("carton", "carton"),
                                      words("customer", ""),
                                      one_of("nature", "complaint|return", "Without it complaint."),
                                      words("words", "What they said.", true),
                                      words("letter", "Side."),
                                      count("quantity", "Discs."),
                                      amount("programme_s", "s", units::duration_s, "Where heard."),
                                      amount("within_s", "s", units::duration_s, "Give or take.")};
constexpr std::array capture_fields{
    of("ticket", "ticket", true),
    words("letter", "Side.", true),
    words("path", "", true),
    words("sha256", ""),
    count("play", "1 for the first."),
    one_of("after", "as found|brushed|washed|reseated", "Without it as found."),
    words("bench", "")};
constexpr std::array report_fields{of("capture", "capture", true),
                                   words("path", "Compressed, named by its hash.", true),
                                   words("sha256", "", true),
                                   Field{.name = "pass", .help = "", .type = flag},
                                   words("limits", "In force at the time."),
                                   words("version", "Of this program."),
                                   count("plain", "Plainly audible faults."),
                                   count("slight", ""),
                                   amount("eccentricity_m", "m", units::length_m, ""),
                                   Field{.name = "weighted_noise_dB",
                                         .help = "",
                                         .type = quantity,
                                         .read = units::level_dB,
                                         .unit = "dB"}};
constexpr std::array fault_fields{
    of("report", "report", true),
    words("what", "", true),
    words("audibility", ""),
    Field{.name = "programme_s", .help = "", .type = quantity, .unit = "s"},
    Field{.name = "angle_deg", .help = "", .type = quantity, .unit = "deg"},
    Field{.name = "radius_m", .help = "", .type = quantity, .unit = "m"},
    Field{.name = "excess_dB", .help = "", .type = quantity, .unit = "dB"}};
constexpr std::array remark_fields{of("ticket", "ticket"),
                                   of("run", "run"),
                                   of("carton", "carton"),
                                   words("letter", "Side."),
                                   words("words", "What was heard.", true),
                                   amount("programme_s", "s", units::duration_s, "Where."),
                                   amount("within_s", "s", units::duration_s, "Give or take.")};
constexpr std::array opinion_fields{
    of("report", "report", true),
    count("fault", "Id of the report's fault; without it the verdict as a whole."),
    one_of("opinion", "agree|disagree|added", "added: heard, and not in the report.", true),
    amount("programme_s", "s", units::duration_s, "Where in the programme."),
    amount("capture_s", "s", units::duration_s, "Where in the capture."),
    words("what", "Kind of a fault that was added."),
    words("words", "")};
constexpr std::array shipment_fields{of("order", "orders", true),
                                     words("to", "Where to.", true),
                                     words("carrier", ""),
                                     own(one_of("state", "open|gone", "")),
                                     of("delivery", "delivery")};
constexpr std::array pallet_fields{of("shipment", "shipment"),
                                   of("order", "orders"),
                                   own(one_of("state", "open|closed|gone", ""))};
constexpr std::array carton_fields{
    of("order", "orders", true),
    of("pallet", "pallet"),
    of("shipment", "shipment"),
    count("capacity", "Discs.", true),
    own(one_of("state", "open|closed|gone", "")),
    own(amount("gross_kg", "kg", units::mass_kg, "As weighed when it was closed."))};
constexpr std::array label_fields{of("carton", "carton"),
                                  of("pallet", "pallet"),
                                  words("sscc", "Serial shipping container code.")};
constexpr std::array credit_fields{of("order", "orders", true),
                                   of("delivery", "delivery"),
                                   of("complaint", "complaint"),
                                   count("quantity", "Discs not delivered any more.", true),
                                   words("reason", "", true)};

constexpr std::array all{
    Kind{"title", "title", "T-####-?", "What is pressed.", title_fields},
    Kind{"side", "side", "SD-####-?", "One face of a title.", side_fields},
    Kind{
        "cut", "cut", "C-####-?", "The approved recording of a side, with its groove.", cut_fields},
    Kind{"track", "track", "TR-#####-?", "What plays on a side.", track_fields},
    Kind{"order", "orders", "O-####-?", "So many discs by a day.", order_fields},
    Kind{"delivery", "delivery", "D-####-?", "Part of an order for one place.", delivery_fields},
    Kind{"part", "part", "P-#####-?", "Lacquer, wax, father, mother, stamper.", part_fields},
    Kind{"press", "press", "PR-##-?", "A press.", press_fields},
    Kind{"spindle", "spindle", "SP-###-?", "A stack that discs rest on.", spindle_fields},
    Kind{"recipe", "recipe", "Y-####-?", "A press cycle.", recipe_fields},
    Kind{"batch", "batch", "B-####-?", "One mix of compound.", batch_fields},
    Kind{"weighing", "weighing", "G-######-?", "An ingredient's lot in a batch.", weighing_fields},
    Kind{"biscuit", "biscuit", "BI-#####-?", "Charges cut from a batch.", biscuit_fields},
    Kind{"mounting", "mounting", "M-#####-?", "A stamper pair on a press.", mounting_fields, false},
    Kind{"step", "step", "W-######-?", "Something done to a part.", step_fields, false},
    Kind{"reading", "reading", "X-#######-?", "A figure taken at a step.", reading_fields, false},
    Kind{"run", "run", "R-#####-?", "An order on a press.", run_fields},
    Kind{"pressing", "pressing", "I-######-?", "A range of impressions.", pressing_fields, false},
    Kind{"shipment", "shipment", "SH-####-?", "What leaves together.", shipment_fields},
    Kind{"pallet", "pallet", "PA-####-?", "Cartons on it.", pallet_fields},
    Kind{"carton", "carton", "K-######-?", "Packed discs.", carton_fields},
    Kind{"label", "label", "LB-######-?", "Number of a closed unit.", label_fields, false},
    Kind{"ticket", "ticket", "S-######-?", "A disc pulled for hearing.", ticket_fields, false},
    Kind{"capture", "capture", "CA-######-?", "A recording of one played side.", capture_fields},
    Kind{"report", "report", "L-######-?", "What listening found.", report_fields, false},
    Kind{"fault", "fault", "F-#######-?", "One audible event of a report.", fault_fields, false},
    Kind{"approval",
         "approval",
         "A-####-?",
         "Test pressings: sent, and what was said.",
         approval_fields,
         false},
    Kind{"inspection", "inspection", "N-#####-?", "Discs looked at.", inspection_fields},
    Kind{"tally", "tally", "NT-######-?", "Of an inspection, by reason.", tally_fields},
    Kind{"complaint", "complaint", "Q-####-?", "From a customer, or a return.", complaint_fields},
    Kind{"credit", "credit", "CR-####-?", "Discs credited, not delivered.", credit_fields, false},
    Kind{"remark", "remark", "RM-#####-?", "What a listener noted.", remark_fields},
    Kind{"opinion", "opinion", "OP-######-?", "A listener's ear beside a report.", opinion_fields},
};

}  // namespace

std::span<const Kind> kinds() {
  return all;
}

Result<const Kind*> find_kind(std::string_view name) {
  std::string known;
  for (const Kind& kind : all) {
    if (kind.name == name || kind.table == name) return &kind;
    known += (known.empty() ? "" : ", ") + std::string{kind.name};
  }
  return Error{
      Fault::bad_input,
      fmt::format("\"{}\" is nothing the record keeps; it keeps {}", name.substr(0, 40), known)};
}

const Kind& kind_of_table(std::string_view table) {
  for (const Kind& kind : all)
    if (kind.table == table) return kind;
  EXPECTS(false && "a table without a kind");
  return all.front();
}

const Field* find_field(const Kind& kind, std::string_view typed) {
  for (const Field& field : kind.fields) {
    if (field.name == typed) return &field;
    const auto unit = field.type == Field::Type::instant ? std::string_view{"ms"} : field.unit;
    if (!unit.empty() && field.name.size() == typed.size() + 1 + unit.size() &&
        field.name.starts_with(typed))
      return &field;
  }
  return nullptr;
}

}  // namespace goodside::works
