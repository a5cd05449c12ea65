#include "line/family_of_record.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <map>
#include <optional>
#include <set>
#include <utility>

#include "intake/compressed_file.hpp"
#include "json/family.hpp"
#include "json/listening_report.hpp"
#include "line/heard_cache.hpp"
#include "listen/pieces.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::Row;
using ledger::text;
using ledger::whole;
using works::DiscSide;
using works::FamilyPartKind;
using works::Impressions;

FamilyPartKind part_kind(const std::string& kind) {
  if (kind == "father") return FamilyPartKind::father;
  if (kind == "mother") return FamilyPartKind::mother;
  return kind == "stamper" ? FamilyPartKind::stamper : FamilyPartKind::cut;
}

class Gatherer {
 public:
  Gatherer(Reader& reader, const std::string& side) : reader_{reader} {
    const Row row = reader.need("side", side);
    letter_ = text(at(row, "letter"));
    side_ = !letter_.empty() && (letter_.front() - 'A') % 2 == 1 ? DiscSide::B : DiscSide::A;
    title_ = text(at(row, "title"));
  }

  void run() {
    for (const Row& one : reader_.standing("run", "title", title_))
      runs_.push_back(text(at(one, "code")));
    for (const std::string& run : runs_)
      for (Row& pressing : reader_.standing("pressing", "run", run))
        pressings_[run].push_back(std::move(pressing));
    add_mountings();
    add_parts();
    add_steps();
    for (const std::string& run : runs_) add_tickets(run);
    for (const std::string& run : runs_) add_stock(run);
    add_words();
  }

  works::Family family;

 private:
  /// Impressions of a run in the title's count; nothing where an older card did not count them.
  [[nodiscard]] std::optional<Impressions> of_title(const std::string& run,
                                                    std::int64_t first,
                                                    std::int64_t last) const {
    std::optional<Impressions> range;
    const auto list = pressings_.find(run);
    if (list == pressings_.end()) return {};
    for (const Row& pressing : list->second) {
      if (ledger::is_null(at(pressing, "title_first"))) continue;
      const std::int64_t from = std::max(first, whole(at(pressing, "first")));
      const std::int64_t to = std::min(last, whole(at(pressing, "last")));
      if (from > to) continue;
      const std::int64_t shift = whole(at(pressing, "title_first")) - whole(at(pressing, "first"));
      if (!range) range = Impressions{from + shift, to + shift};
      range->first = std::min(range->first, from + shift);
      range->last = std::max(range->last, to + shift);
    }
    return range;
  }

  void add_mountings() {
    for (const auto& [run, list] : pressings_)
      for (const Row& pressing : list) {
        const std::string code = text(at(pressing, "mounting"));
        if (code.empty()) continue;
        if (!mountings_.contains(code))
          if (auto row = reader_.find("mounting", code)) mountings_.emplace(code, std::move(*row));
        if (ledger::is_null(at(pressing, "title_first"))) continue;
        const auto [first, fresh] = mounted_at_.emplace(code, whole(at(pressing, "title_first")));
        first->second = std::min(first->second, whole(at(pressing, "title_first")));
      }
    for (const auto& [code, first] : mounted_at_) {
      works::FamilyStep step;
      step.mounting = code;
      step.at = Impressions{first, first};
      step.what = "mounted";
      family.steps.push_back(std::move(step));
    }
  }

  [[nodiscard]] std::string stamper_of(const Row& mounting, DiscSide side) const {
    return text(at(mounting, side == DiscSide::A ? "stamper_a" : "stamper_b"));
  }

  void add_parts() {
    std::set<std::string> pressing, met;
    for (const auto& [code, mounting] : mountings_)
      for (const DiscSide side : {DiscSide::A, DiscSide::B})
        if (const std::string part = stamper_of(mounting, side); !part.empty())
          pressing.insert(part);
    for (const std::string& first : pressing)
      for (std::string code = first; !code.empty() && met.insert(code).second;) {
        const auto row = reader_.find("part", code);
        if (!row) break;
        works::FamilyPart part;
        part.id = code;
        part.kind =
            pressing.contains(code) ? FamilyPartKind::stamper : part_kind(text(at(*row, "kind")));
        part.parent = text(at(*row, "parent"));
        if (!ledger::is_null(at(*row, "grown")) && whole(at(*row, "grown")) > 0)
          part.grown = whole(at(*row, "grown"));
        code = part.parent;
        family.parts.push_back(std::move(part));
      }
  }

  /// A step on a stamper lies before the first impression that was pressed from it afterwards; one on
  /// a part that grows others after those that had grown by then.
  void add_steps() {
    static const std::set<std::string> handling{"washed",
                                                "washed on press",
                                                "repaired",
                                                "faced",
                                                "chromium-stripped",
                                                "horns removed",
                                                "ticks removed"};
    for (const works::FamilyPart& part : family.parts)
      for (const Row& row : reader_.standing("step", "part", part.id)) {
        works::FamilyStep step;
        step.part = part.id;
        step.what = text(at(row, "what"));
        if (!handling.contains(step.what)) continue;
        const std::int64_t when = whole(at(row, "at_ms"));
        if (part.kind == FamilyPartKind::stamper) {
          for (const auto& [code, mounting] : mountings_)
            if (stamper_of(mounting, DiscSide::A) == part.id ||
                stamper_of(mounting, DiscSide::B) == part.id)
              for (const auto& [run, list] : pressings_)
                for (const Row& pressing : list)
                  if (text(at(pressing, "mounting")) == code &&
                      whole(at(pressing, "at_ms")) >= when &&
                      !ledger::is_null(at(pressing, "title_first"))) {
                    const std::int64_t first = whole(at(pressing, "title_first"));
                    if (!step.at || first < step.at->first) step.at = Impressions{first, first};
                  }
          if (!step.at) continue;
        } else {
          std::int64_t grown = 0;
          for (const Row& child : reader_.standing("part", "parent", part.id))
            if (whole(at(child, "at_ms")) < when) ++grown;
          if (grown == 0) continue;
          step.after_grown = grown;
        }
        family.steps.push_back(std::move(step));
      }
  }

  /// What made impressions first..last of a run, where they were all made alike.
  void tell_makers(const std::string& run,
                   std::int64_t first,
                   std::int64_t last,
                   works::FamilyDisc& disc) const {
    const auto list = pressings_.find(run);
    if (list == pressings_.end()) return;
    std::set<std::string> mountings, batches, recipes;
    for (const Row& pressing : list->second) {
      if (whole(at(pressing, "first")) > last || whole(at(pressing, "last")) < first) continue;
      mountings.insert(text(at(pressing, "mounting")));
      batches.insert(text(at(pressing, "batch")));
      recipes.insert(text(at(pressing, "recipe")));
    }
    if (mountings.size() == 1) disc.mounting = *mountings.begin();
    if (batches.size() == 1) disc.batch = *batches.begin();
    if (recipes.size() == 1) disc.recipe = *recipes.begin();
    std::set<std::string> a, b, presses;
    for (const std::string& code : mountings)
      if (const auto mounting = mountings_.find(code); mounting != mountings_.end()) {
        a.insert(stamper_of(mounting->second, DiscSide::A));
        b.insert(stamper_of(mounting->second, DiscSide::B));
        presses.insert(text(at(mounting->second, "press")));
      }
    if (a.size() == 1) disc.stamper[0] = *a.begin();
    if (b.size() == 1) disc.stamper[1] = *b.begin();
    if (presses.size() == 1) disc.press = *presses.begin();
  }

  void add_tickets(const std::string& run) {
    std::set<std::string> here;
    for (const works::Holding& holding : reader_.holdings(run))
      if (holding.spot.place == works::Place::in_sample && holding.quantity > 0)
        here.insert(holding.spot.at);
    for (const Row& ticket : reader_.standing("ticket", "run", run)) {
      works::FamilyDisc disc;
      disc.id = text(at(ticket, "code"));
      disc.run = run;
      const std::int64_t first = whole(at(ticket, "first")), last = whole(at(ticket, "last"));
      disc.impression = of_title(run, first, last);
      tell_makers(run, first, last, disc);
      if (const auto mounting = text(at(ticket, "mounting")); !mounting.empty())
        disc.mounting = mounting;
      disc.spindle = text(at(ticket, "spindle"));
      disc.fetchable = here.contains(disc.id);
      add_reports(disc.id);
      for (const Row& remark : reader_.standing("remark", "ticket", disc.id))
        add_remark(remark, "listener");
      for (const Row& complaint : reader_.standing("complaint", "ticket", disc.id))
        add_remark(complaint, "customer");
      family.discs.push_back(std::move(disc));
    }
  }

  void add_reports(const std::string& ticket) {
    for (const Row& capture : reader_.standing("capture", "ticket", ticket)) {
      if (text(at(capture, "letter")) != letter_) continue;
      const auto reports = reader_.standing("report", "capture", text(at(capture, "code")));
      if (reports.empty()) continue;
      const Row& newest = *std::ranges::max_element(
          reports, {}, [](const Row& row) { return whole(at(row, "event")); });
      works::FamilyReport report;
      report.disc = ticket;
      report.side = side_;
      report.play = std::max<std::int64_t>(1, whole(at(capture, "play"), 1));
      report.after = after(text(at(capture, "after")));
      report.file = text(at(newest, "path"));
      family.reports.push_back(std::move(report));
    }
  }

  static works::After after(const std::string& word) {
    if (word == "brushed") return works::After::brushed;
    if (word == "washed") return works::After::washed;
    return word == "reseated" ? works::After::reseated : works::After::as_found;
  }

  void add_remark(const Row& row, const char* from) {
    if (const auto letter = text(at(row, "letter")); letter != letter_) return;
    if (ledger::is_null(at(row, "programme_s"))) return;
    works::FamilyRemark remark;
    remark.disc = text(at(row, "ticket"));
    remark.carton = remark.disc.empty() ? text(at(row, "carton")) : "";
    remark.side = side_;
    remark.programme_s = std::get<double>(at(row, "programme_s"));
    if (const auto& within = at(row, "within_s"); !ledger::is_null(within))
      remark.within_s = std::get<double>(within);
    remark.words = text(at(row, "words"));
    remark.from = from;
    family.remarks.push_back(std::move(remark));
  }

  /// Remarks and complaints on cartons of the title's stock.
  void add_words() {
    for (const std::string& carton : cartons_) {
      for (const Row& row : reader_.standing("remark", "carton", carton))
        add_remark(row, "listener");
      for (const Row& row : reader_.standing("complaint", "carton", carton))
        add_remark(row, "customer");
    }
  }

  void add_stock(const std::string& run) {
    for (const works::Holding& holding : reader_.holdings(run)) {
      using works::Place;
      const Place place = holding.spot.place;
      if (holding.quantity <= 0 || place == Place::press || place == Place::in_sample ||
          place == Place::scrap || place == Place::unaccounted)
        continue;
      const auto range = of_title(run, holding.impressions.first, holding.impressions.last);
      if (!range) continue;
      works::FamilyStock stock;
      const bool spindle = reader_.find("spindle", holding.spot.at).has_value();
      (spindle ? stock.spindle : stock.carton) =
          holding.spot.at.empty() ? fmt::format("{} of {}", works::word(place), run)
                                  : holding.spot.at;
      if (!spindle && !holding.spot.at.empty()) cartons_.insert(holding.spot.at);
      stock.impressions = *range;
      stock.fetchable = place != Place::shipped;
      family.stock.push_back(std::move(stock));
    }
  }

  Reader& reader_;
  std::string letter_, title_;
  DiscSide side_{};
  std::vector<std::string> runs_;
  std::map<std::string, std::vector<Row>> pressings_;
  std::map<std::string, Row> mountings_;
  std::map<std::string, std::int64_t> mounted_at_;
  std::set<std::string> cartons_;
};

}  // namespace

Result<HeardFamily> family_of_record(ledger::Record& record,
                                     const std::string& folder,
                                     const std::string& side,
                                     const works::TraceCosts& costs,
                                     int jobs) {
  HeardFamily heard;
  heard.works_side = side;
  const auto asked = record.read([&](Reader& reader) {
    Gatherer gatherer{reader, side};
    gatherer.run();
    heard.family = std::move(gatherer.family);
  });
  if (!asked) return asked.error();
  heard.family.costs = costs;
  const auto& listed = heard.family.reports;
  if (listed.empty())
    return Error{Fault::bad_input,
                 fmt::format("no listening report of side {} is in the record; enter one with "
                             "`goodside works hear TICKET --side A --report FILE`",
                             side)};
  HeardCache cache{folder + "/cache/heard " + side};
  std::vector<std::optional<Result<works::HeardPlay>>> plays(listed.size());
  const auto all = listen::run_pieces(listed.size(), jobs, [&](std::size_t, std::size_t i) {
    const std::string path = folder + "/" + listed[i].file;
    std::error_code ignored;
    if (const auto* known = cache.find(listed[i].file);
        known != nullptr && std::filesystem::is_regular_file(path, ignored)) {
      plays[i] = *known;
      return Outcome{Done{}};
    }
    const auto kept = intake::read_compressed(path, json::largest_report_bytes);
    plays[i] = kept ? json::read_heard_play(*kept) : Result<works::HeardPlay>{kept.error()};
    return Outcome{Done{}};
  });
  if (!all) return all.error();
  for (std::size_t i = 0; i < plays.size(); ++i)
    if (*plays[i] && cache.find(listed[i].file) == nullptr) cache.keep(listed[i].file, **plays[i]);
  // A folder that cannot be written to is traced all the same.
  static_cast<void>(cache.save());
  for (std::size_t i = 0; i < plays.size(); ++i) {
    if (!*plays[i]) {
      heard.refused.push_back({"report of " + listed[i].disc, plays[i]->error().text});
      continue;
    }
    works::HeardPlay play = std::move(**plays[i]);
    play.disc = listed[i].disc;
    play.file = listed[i].file;
    play.side = listed[i].side;
    play.play = listed[i].play;
    play.after = listed[i].after;
    heard.plays.push_back(std::move(play));
  }
  if (heard.plays.empty())
    return Error{Fault::bad_input,
                 fmt::format("none of the {} reports of side {} can be used; the first: {}",
                             listed.size(),
                             side,
                             heard.refused.front().why)};
  return heard;
}

}  // namespace goodside::line
