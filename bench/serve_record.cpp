// A record of many heard discs, for the server to be measured on (bench/serve_bench.py).
//
//   serve_record WORKS [SCALE]     WORKS: a works folder as `goodside works init` makes it
//
// Full size: 2 000 titles of two sides, 250 discs of each heard on side A: 500 000 heard discs with three
// faults each, 1 000 000 discs pressed from 8 000 stampers. The first title has twenty times as many heard.
// Reports are rows alone: their files are not written.

#include <fmt/format.h>

#include <cstdlib>
#include <random>
#include <string>
#include <vector>

#include "ledger/record.hpp"
#include "line/works_place.hpp"

namespace {

using namespace goodside;
using ledger::Writer;
using works::kind_of_table;
using works::Place;
using works::Spot;

constexpr std::int64_t start_ms = 1'764'000'000'000, minute_ms = 60'000;
constexpr std::int64_t discs_a_run = 500;

[[noreturn]] void stop(const std::string& why) {
  fmt::print(stderr, "serve_record: {}\n", why);
  std::exit(2);
}

struct Title {
  std::string code, order;
  std::vector<std::string> stampers;
};

Title add_title(Writer& writer, int number) {
  Title title;
  title.code = writer.add(kind_of_table("title"),
                          {{"name", fmt::format("Title {}", number)}, {"artist", "An Artist"}});
  std::vector<std::string> sides;
  for (const char* letter : {"A", "B"})
    sides.push_back(writer.add(kind_of_table("side"),
                               {{"title", title.code}, {"letter", letter}, {"format", "12in-33"}}));
  title.order =
      writer.add(kind_of_table("orders"),
                 {{"title", title.code}, {"quantity", discs_a_run}, {"due_ms", start_ms}});
  for (int s = 0; s < 4; ++s)
    title.stampers.push_back(writer.add(kind_of_table("part"),
                                        {{"kind", "stamper"},
                                         {"side", sides[static_cast<std::size_t>(s) % 2]},
                                         {"origin", "bought"},
                                         {"state", "resting"}}));
  return title;
}

void add_play(Writer& writer,
              const std::string& ticket,
              std::int64_t number,
              std::mt19937& random) {
  const std::string hash = fmt::format("{:064x}", number);
  const std::string capture = writer.add(
      kind_of_table("capture"),
      {{"ticket", ticket}, {"letter", "A"}, {"path", "captures/none.wav"}, {"sha256", hash}});
  const std::int64_t pass = random() % 20 != 0 ? 1 : 0;
  const std::string report = writer.add(kind_of_table("report"),
                                        {{"capture", capture},
                                         {"path", "reports/none.json.gz"},
                                         {"sha256", hash},
                                         {"pass", pass},
                                         {"limits", "12in-33"},
                                         {"plain", std::int64_t{1}},
                                         {"slight", std::int64_t{2}},
                                         {"eccentricity_m", 5e-5},
                                         {"weighted_noise_dB", -62.0},
                                         {"at_ms", start_ms + number * minute_ms / 100}});
  for (int fault = 0; fault < 3; ++fault)
    writer.add(kind_of_table("fault"),
               {{"report", report},
                {"what", "tick"},
                {"audibility", fault == 0 ? "plain" : "slight"},
                {"programme_s", static_cast<double>(random() % 120'000) / 100.0},
                {"angle_deg", static_cast<double>(random() % 3600) / 10.0},
                {"radius_m", 0.06 + static_cast<double>(random() % 86) / 1000.0},
                {"excess_dB", 10.0 + static_cast<double>(random() % 20)}});
}

/// One run of 500 discs from two of the stampers, every `each`-th heard.
void add_run(Writer& writer,
             const Title& title,
             const std::string& press,
             std::int64_t each,
             std::int64_t& plays,
             std::mt19937& random) {
  const auto pair = random() % 2 * 2;
  const std::string mounting = writer.add(kind_of_table("mounting"),
                                          {{"press", press},
                                           {"stamper_a", title.stampers[pair]},
                                           {"stamper_b", title.stampers[pair + 1]},
                                           {"counter_from", std::int64_t{0}},
                                           {"ended_ms", start_ms}});
  const std::string run = writer.add(
      kind_of_table("run"), {{"order", title.order}, {"title", title.code}, {"press", press}});
  writer.add(kind_of_table("pressing"),
             {{"run", run},
              {"mounting", mounting},
              {"first", std::int64_t{1}},
              {"last", discs_a_run},
              {"title_first", std::int64_t{1}}});
  const Spot pressed{Place::pressed, "", "", {}};
  writer.post({run, {1, discs_a_run}, discs_a_run, {Place::press, "", "", {}}, pressed});
  for (std::int64_t disc = each; disc <= discs_a_run; disc += each) {
    const std::string ticket = writer.add(
        kind_of_table("ticket"),
        {{"run", run}, {"mounting", mounting}, {"first", disc}, {"last", disc}, {"heard", "good"}});
    add_play(writer, ticket, ++plays, random);
  }
  writer.post({run, {1, 450}, 450, pressed, {Place::shipped, "", "", {}}});
}

}  // namespace

int main(int count, char** words) {
  if (count < 2) stop("name a works folder");
  const double scale = count > 2 ? std::atof(words[2]) : 1.0;
  const auto place = line::read_works_place(words[1]);
  if (!place) stop(place.error().text);
  auto record = ledger::Record::open(place->store, false);
  if (!record) stop(record.error().text);
  std::mt19937 random{20261126};
  std::string press;
  std::int64_t plays = 0;
  const auto write = [&](const std::function<void(Writer&)>& decide) {
    const auto head = record->write({start_ms, "bench", "load"}, decide);
    if (!head) stop(head.error().text);
  };
  write([&](Writer& writer) { press = writer.add(kind_of_table("press"), {{"name", "Press"}}); });
  const int titles = std::max(1, static_cast<int>(2000 * scale));
  for (int number = 1; number <= titles; ++number) {
    Title title;
    write([&](Writer& writer) { title = add_title(writer, number); });
    const int runs = number == 1 ? std::max(2, static_cast<int>(20 * std::min(1.0, 4 * scale))) : 2;
    for (int run = 0; run < runs; ++run)
      write([&](Writer& writer) {
        add_run(writer, title, press, number == 1 ? 2 : 4, plays, random);
      });
    if (number % 100 == 0) fmt::print("{} titles, {} heard discs\n", number, plays);
  }
  fmt::print("{} heard discs\n", plays);
  return 0;
}
