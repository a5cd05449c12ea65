#include "line/sample_tickets.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "base/sha256.hpp"
#include "intake/compressed_file.hpp"
#include "intake/safe_file.hpp"
#include "json/listening_report.hpp"
#include "line/choose_stock.hpp"
#include "line/move_discs.hpp"
#include "line/read_fields.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::refuse;
using ledger::Refused;
using ledger::Row;
using ledger::text;
using ledger::whole;
using ledger::Writer;

std::string hold_reason(const std::string& ticket) {
  return "until " + ticket + " is heard";
}

works::Impressions impressions_of(const std::vector<Row>& pressings, const Pull& pull) {
  if (pull.first) return {*pull.first, pull.last.value_or(*pull.first)};
  if (!pull.counter)
    refuse(Fault::bad_input, "say which disc it is: give its impression, or --counter");
  for (const Row& row : pressings) {
    const std::int64_t from = whole(at(row, "counter_from"), -1),
                       to = whole(at(row, "counter_to"), -1);
    if (*pull.counter <= from || *pull.counter > to) continue;
    const std::int64_t n = whole(at(row, "first")) + *pull.counter - from - 1;
    return {n, n};
  }
  refuse(Fault::not_found,
         fmt::format("no pressing of {} was entered with counter reading {}; give the impression, "
                     "or an interval",
                     pull.run,
                     *pull.counter));
}

/// The first impression after the last good disc before this one.
std::int64_t after_last_good(Writer& writer, const std::string& run, std::int64_t first) {
  std::int64_t from = 1;
  for (const Row& row : writer.where("ticket", "run", run))
    if (text(at(row, "heard")) == "good" && ledger::stands(row) && whole(at(row, "last")) < first)
      from = std::max(from, whole(at(row, "last")) + 1);
  return from;
}

/// Out of the first place that has such a disc.
Result<std::vector<works::Movement>> one_disc(const works::RunStock& stock,
                                              const std::string& run,
                                              const works::Impressions& which,
                                              const std::string& ticket) {
  using enum works::Place;
  Result<std::vector<works::Movement>> chosen = std::vector<works::Movement>{};
  for (const works::Place place : {pressed, edge_finished, good_stock, suspect, packed}) {
    chosen = choose_stock(stock,
                          {.run = run, .impressions = which, .quantity = 1, .places = {place}},
                          [&](const works::Spot&) {
                            return works::Spot{in_sample, ticket, "", {}};
                          });
    if (chosen || chosen.error().fault != Fault::not_found) return chosen;
  }
  return chosen;
}

void add_faults(Writer& writer, const std::string& report, const works::ListeningReport& heard) {
  constexpr std::array words{"tick", "pop", "burst", "dropout", "jump", "repeat", "clip"};
  constexpr std::array audible{"plain", "slight", "masked"};
  for (const works::FaultEvent& fault : heard.faults) {
    if (fault.audibility == works::Audibility::masked) continue;
    Row row{{"report", report},
            {"what", words.at(static_cast<std::size_t>(fault.kind))},
            {"audibility", audible.at(static_cast<std::size_t>(fault.audibility))},
            {"excess_dB", fault.excess_dB}};
    if (fault.programme_s) row["programme_s"] = *fault.programme_s;
    if (fault.angle_deg) row["angle_deg"] = *fault.angle_deg;
    if (fault.radius_m) row["radius_m"] = *fault.radius_m;
    writer.add(works::kind_of_table("fault"), std::move(row));
  }
}

void add_report(Writer& writer, const Heard& heard, Verdict& verdict) {
  const works::ListeningReport& report = *heard.report;
  Row capture{{"ticket", heard.ticket},
              {"letter", heard.letter},
              {"path", report.capture.path},
              {"after", "as found"}};
  std::int64_t play = 1;
  for (const Row& before : writer.where("capture", "ticket", heard.ticket))
    if (text(at(before, "letter")) == heard.letter) {
      ++play;
      if (text(at(before, "sha256")) == report.capture.sha256 && !report.capture.sha256.empty())
        verdict.capture = text(at(before, "code"));
    }
  if (verdict.capture.empty()) {
    capture["play"] = play;
    if (!report.capture.sha256.empty()) capture["sha256"] = report.capture.sha256;
    verdict.capture = writer.add(works::kind_of_table("capture"), std::move(capture));
  }
  const auto count = [&](works::Audibility audibility) {
    return std::int64_t{std::count_if(
        report.faults.begin(), report.faults.end(), [&](const works::FaultEvent& fault) {
          return fault.audibility == audibility;
        })};
  };
  Row row{{"capture", verdict.capture},
          {"path", heard.report_path},
          {"sha256", heard.report_sha256},
          {"pass", std::int64_t{report.verdict.pass}},
          {"limits", heard.limits.empty() ? report.verdict.limits : heard.limits},
          {"plain", count(works::Audibility::plain)},
          {"slight", count(works::Audibility::slight)}};
  if (!heard.version.empty()) row["version"] = heard.version;
  if (report.wow.eccentricity_m) row["eccentricity_m"] = *report.wow.eccentricity_m;
  if (report.noise.weighted_dB) row["weighted_noise_dB"] = *report.noise.weighted_dB;
  verdict.report = writer.add(works::kind_of_table("report"), std::move(row));
  add_faults(writer, verdict.report, report);
}

}  // namespace

Result<Pulled> pull_sample(const Desk& desk, const Pull& pull) {
  for (const std::string& words : {pull.reason, pull.name})
    if (const auto fit = fit_text(words); !fit) return fit.error();
  Pulled pulled;
  const auto head = desk.record.write(desk.act("ticket"), [&](Writer& writer) {
    static_cast<void>(writer.need("run", pull.run));
    auto pressings = writer.where("pressing", "run", pull.run);
    std::erase_if(pressings, [](const Row& row) { return whole(at(row, "void")) != 0; });
    const works::Impressions which = impressions_of(pressings, pull);
    const std::int64_t made = writer.stock(pull.run).made();
    if (which.first < 1 || which.last < which.first || which.last > made)
      refuse(
          Fault::not_found,
          fmt::format(
              "run {} has made impressions 1 to {}; there is no {}", pull.run, made, which.last));
    Row row{{"run", pull.run}, {"first", which.first}, {"last", which.last}, {"heard", "waiting"}};
    for (const Row& pressing : pressings)
      if (which.first >= whole(at(pressing, "first")) &&
          which.first <= whole(at(pressing, "last"))) {
        row["mounting"] = at(pressing, "mounting");
        if (!pull.counter && !ledger::is_null(at(pressing, "counter_from")) && which.width() == 1)
          row["counter"] =
              whole(at(pressing, "counter_from")) + which.first - whole(at(pressing, "first")) + 1;
      }
    if (pull.counter) row["counter"] = *pull.counter;
    if (!pull.spindle.empty()) row["spindle"] = at(writer.need("spindle", pull.spindle), "code");
    if (!pull.reason.empty()) row["reason"] = pull.reason;
    if (!pull.name.empty()) row["name"] = pull.name;
    if (pull.at_ms) row["at_ms"] = *pull.at_ms;
    const works::Impressions held{after_last_good(writer, pull.run, which.first), made};
    row["held_first"] = held.first;
    row["held_last"] = held.last;
    pulled = {.entered = {writer.add(works::kind_of_table("ticket"), std::move(row)), {}},
              .first = which.first,
              .last = which.last};
    const auto chosen = one_disc(writer.stock(pull.run), pull.run, which, pulled.entered.code);
    if (!chosen) throw Refused{chosen.error()};
    for (const works::Movement& movement : *chosen) writer.post(movement);
    pulled.held = hold_within(
        writer, {.run = pull.run, .impressions = held}, hold_reason(pulled.entered.code));
  });
  if (!head) return head.error();
  pulled.entered.head = *head;
  return pulled;
}

bool held_until_heard(const std::string& reason) {
  return reason.starts_with("until ") && reason.ends_with(" is heard");
}

std::int64_t find_good(Writer& writer, Row ticket) {
  ticket["heard"] = std::string{"good"};
  writer.alter("ticket", ticket);
  return release_within(
      writer, {.run = text(at(ticket, "run")), .reason = hold_reason(text(at(ticket, "code")))});
}

Result<Heard> keep_report(const std::string& file, const std::string& folder, Heard heard) {
  const auto text = intake::read_whole(file, json::largest_report_bytes);
  if (!text) return text.error();
  auto report = json::read(*text);
  if (!report) return Error{report.error().fault, file + ": " + report.error().text};
  heard.report_sha256 = sha256_hexadecimal(*text);
  heard.report_path = "reports/" + heard.report_sha256 + ".json.gz";
  if (const auto kept = intake::write_compressed(folder + "/" + heard.report_path, *text); !kept)
    return kept.error();
  heard.good = report->verdict.pass;
  heard.report = std::move(*report);
  return heard;
}

Result<Verdict> hear_sample(const Desk& desk, const Heard& heard) {
  if (const auto fit = fit_text(heard.words); !fit) return fit.error();
  if (heard.report && heard.letter.empty())
    return Error{Fault::bad_input, "say which side was heard: give --side A"};
  Verdict verdict;
  const auto head = desk.record.write(desk.act("hear", heard.ticket), [&](Writer& writer) {
    verdict = {};
    Row ticket = writer.need("ticket", heard.ticket);
    // One bad side makes a bad disc, whatever the other sounds like.
    const bool good = heard.good && text(at(ticket, "heard")) != "bad";
    if (good) {
      verdict.released = find_good(writer, ticket);
    } else {
      ticket["heard"] = std::string{"bad"};
      writer.alter("ticket", ticket);
    }
    if (heard.report) add_report(writer, heard, verdict);
    if (!heard.words.empty()) {
      Row remark{{"ticket", heard.ticket}, {"words", heard.words}};
      if (!heard.letter.empty()) remark["letter"] = heard.letter;
      if (heard.at_ms) remark["at_ms"] = *heard.at_ms;
      writer.add(works::kind_of_table("remark"), std::move(remark));
    }
  });
  if (!head) return head.error();
  verdict.head = *head;
  return verdict;
}

}  // namespace goodside::line
