#include "serve/recorder.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <set>

#include "intake/audio_file.hpp"
#include "serve/nodes.hpp"
#include "serve/ticket_side.hpp"

namespace goodside::serve {
namespace {

namespace fs = std::filesystem;
using ledger::at;
using ledger::text;
using ledger::whole;
using State = listen::GrooveWatch::State;
using End = listen::GrooveWatch::End;

constexpr double unknown_side_s = 1800.0, spare_s = 180.0, bytes_a_frame = 6.0;
constexpr double least_side_s = 1.0;
constexpr std::size_t most_at_once = 8, most_sent = 20;
constexpr double standard_rpm = 100.0 / 3.0;

const char* word_of(End end) {
  switch (end) {
    case End::none:
      return "";
    case End::lifted:
      return "lifted";
    case End::locked_groove:
      return "locked groove";
    case End::too_long:
      return "too long";
    case End::by_hand:
      return "by hand";
  }
  return "";
}

json::Node reals(const std::vector<double>& values) {
  List list;
  for (const double value : values) list.push_back(value);
  return list;
}

/// Why a recording that ended is not sent by itself.
std::string why_held(const Recording::Now& now) {
  if (!now.error.empty()) return now.error;
  if (!now.overruns_s.empty())
    return fmt::format(
        "sound was lost {} while it was recorded: there are gaps; play the side again",
        now.overruns_s.size() == 1 ? "once" : fmt::format("{} times", now.overruns_s.size()));
  if (now.end == End::too_long)
    return "no end of the groove was found; see that the right side and speed were played";
  return {};
}

}  // namespace

Recorder::Recorder(
    std::string folder, Store& store, Records& records, Reports& reports, Uploads& uploads)
    : folder_{std::move(folder)},
      store_{store},
      records_{records},
      reports_{reports},
      uploads_{uploads} {}

Recorder::~Recorder() {
  stop();
}

std::string Recorder::path_of(const std::string& id) const {
  return folder_ + "/incoming/" + id + ".wav";
}

std::optional<double> Recorder::programme_s(const std::string& reference) {
  if (reference.empty()) return std::nullopt;
  const auto audio = intake::open_audio(reports_.path_of(reference));
  if (!audio) return std::nullopt;
  return static_cast<double>((*audio)->frames()) / (*audio)->sample_rate_Hz();
}

/// Only what the system offers: a device's name may carry settings, a file to write to among them.
void Recorder::check_free(const std::string& device) {
  const auto devices = sound_devices();
  if (std::ranges::find(devices, device, &SoundDevice::name) == devices.end())
    throw Stop{422, "device: choose one from /api/recordings/devices"};
  const std::lock_guard lock{guard_};
  std::size_t live = 0;
  for (const auto& [id, one] : ones_) {
    if (one.stage != Stage::live) continue;
    ++live;
    if (one.device == device)
      throw Stop{409,
                 fmt::format("{} records {} already; end that first", device, one.upload.ticket)};
  }
  if (live >= most_at_once)
    throw Stop{429, fmt::format("{} recordings are under way; end one first", live), 10};
}

json::Node Recorder::arm(const NewRecording& asked, const std::string& who) {
  check_free(asked.device);
  drop_old();
  const auto rate = static_cast<int>(std::clamp<std::int64_t>(asked.sample_rate_Hz, 0, 1'000'000));
  One one{.device = asked.device};
  double turn_s = 60.0 / standard_rpm, expected_s = unknown_side_s;
  NewUpload side{.name = "side.wav",
                 .ticket = asked.ticket,
                 .letter = asked.letter,
                 .after = asked.after,
                 .bench = asked.bench,
                 .bytes = 1};
  one.upload = uploads_.expect(side, who);
  records_.read([&](ledger::Reader& reader) {
    const TicketSide played = ticket_side(reader, one.upload.ticket, asked.letter);
    one.title = played.name;
    turn_s = 60.0 / speed_rpm(played).value_or(standard_rpm);
    if (played.cut) one.programme_s = programme_s(text(at(*played.cut, "reference")));
  });
  if (one.programme_s) expected_s = 1.1 * *one.programme_s + spare_s;
  side.bytes = std::llround(expected_s * rate * bytes_a_frame);
  one.upload.id = uploads_.expect(side, who).id;  // there is room for it
  one.upload.name = fmt::format("{}_{}.wav", one.upload.ticket, asked.letter);
  auto card = or_stop(open_sound_card(asked.device, rate));
  const std::string id = one.upload.id;
  store_.run(
      "INSERT INTO recording (id, name, ticket, letter, after, bench, device, who, at_ms, title) "
      "VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
      {id,
       one.upload.name,
       one.upload.ticket,
       one.upload.letter,
       one.upload.after,
       one.upload.bench,
       one.device,
       who,
       one.upload.at_ms,
       one.title});
  // Under the lock, so that it stands in the list before it can end.
  const std::lock_guard lock{guard_};
  auto recording =
      Recording::start(std::move(card),
                       {.path = path_of(id), .turn_s = turn_s, .programme_s = one.programme_s},
                       [this, id] { ended(id); });
  if (!recording) {
    store_.run("DELETE FROM recording WHERE id = $1", {id});
    throw Stop{507, recording.error().text};
  }
  one.recording = std::move(*recording);
  return node_of(ones_.emplace(id, std::move(one)).first->second);
}

Recorder::One& Recorder::need_one(const std::string& id) {
  const auto found = ones_.find(id);
  if (found == ones_.end())
    throw Stop{404, fmt::format("there is no recording {}", id.substr(0, 40))};
  return found->second;
}

Recording& Recorder::need_live(const std::string& id) {
  One& one = need_one(id);
  if (one.stage != Stage::live) throw Stop{409, "the recording is at its end"};
  return *one.recording;
}

json::Node Recorder::list() {
  const std::lock_guard lock{guard_};
  List list;
  for (const auto& [id, one] : ones_) list.push_back(node_of(one));
  return Object{{"recordings", std::move(list)}};
}

json::Node Recorder::find(const std::string& id) {
  const std::lock_guard lock{guard_};
  return node_of(need_one(id));
}

json::Node Recorder::begin(const std::string& id) {
  const std::lock_guard lock{guard_};
  need_live(id).begin();
  return node_of(need_one(id));
}

json::Node Recorder::end(const std::string& id) {
  const std::lock_guard lock{guard_};
  need_live(id).end();
  return node_of(need_one(id));
}

json::Node Recorder::send(const std::string& id) {
  {
    const std::lock_guard lock{guard_};
    One& one = need_one(id);
    if (one.stage != Stage::held) throw Stop{409, "only a recording that is held can be sent"};
    one.stage = Stage::finishing;
  }
  hand_over(id);
  const std::lock_guard lock{guard_};
  const One& one = need_one(id);
  if (one.stage != Stage::sent) throw Stop{503, one.error};
  return node_of(one);
}

void Recorder::give_up(const std::string& id) {
  std::unique_ptr<Recording> recording;
  {
    const std::lock_guard lock{guard_};
    One& one = need_one(id);
    if (one.stage == Stage::finishing || one.stage == Stage::sent)
      throw Stop{409, "it is in the queue; cancel its job instead"};
    recording = std::move(one.recording);
    ones_.erase(id);
  }
  recording.reset();
  forget(id);
}

void Recorder::forget(const std::string& id) {
  store_.run("DELETE FROM recording WHERE id = $1", {id});
  std::error_code ignored;
  fs::remove(path_of(id), ignored);
}

/// By the recording's own thread: nothing more comes.
void Recorder::ended(const std::string& id) {
  bool nothing = false, whole = false;
  {
    const std::lock_guard lock{guard_};
    const auto found = ones_.find(id);
    if (stopping_ || found == ones_.end()) return;  // given up, or held at the next start
    One& one = found->second;
    one.last = one.recording->now();
    one.error = why_held(one.last);
    nothing = one.last.kept_s < least_side_s;
    whole = one.error.empty();
    one.stage = whole && !nothing ? Stage::finishing : Stage::held;
    if (nothing && whole) one.error = "nothing was recorded";
  }
  try {
    if (nothing)
      forget(id);
    else if (whole)
      hand_over(id);
  } catch (const std::exception&) {
    // The store fails: it is held at the next start.
  }
}

/// Into the queue, or held with the reason.
void Recorder::hand_over(const std::string& id) {
  Upload upload;
  {
    const std::lock_guard lock{guard_};
    upload = need_one(id).upload;
  }
  std::string error;
  try {
    std::error_code problem;
    if (const auto bytes = fs::file_size(path_of(id), problem); !problem)
      upload.bytes = static_cast<std::int64_t>(bytes);
    store_.run("INSERT INTO side_check (job) VALUES ($1) ON CONFLICT (job) DO NOTHING",
               {upload.id.substr(0, 16)});
    upload = uploads_.adopt(upload, path_of(id));
    store_.run("DELETE FROM recording WHERE id = $1", {id});
  } catch (const Stop& stop) {
    error = stop.text;
  } catch (const std::exception& failure) {
    error = failure.what();
  }
  const std::lock_guard lock{guard_};
  One& one = need_one(id);
  one.error = error;
  one.stage = error.empty() ? Stage::sent : Stage::held;
  one.upload.job = upload.job;
}

void Recorder::drop_old() {
  std::vector<std::unique_ptr<Recording>> over;
  const std::lock_guard lock{guard_};
  std::vector<std::pair<std::int64_t, std::string>> gone;
  for (const auto& [id, one] : ones_)
    if (one.stage == Stage::sent || (one.stage == Stage::held && one.last.kept_s < least_side_s))
      gone.emplace_back(one.upload.at_ms, id);
  std::ranges::sort(gone);
  for (std::size_t k = 0; k + most_sent < gone.size(); ++k) {
    over.push_back(std::move(ones_[gone[k].second].recording));
    ones_.erase(gone[k].second);
  }
}

void Recorder::sweep() {
  std::set<std::string> known;
  for (const auto& row :
       store_.ask("SELECT id, name, ticket, letter, after, bench, device, who, at_ms, title FROM "
                  "recording")) {
    One one{.device = text(row[6]), .title = text(row[9]), .stage = Stage::held};
    one.upload = {.id = text(row[0]),
                  .name = text(row[1]),
                  .ticket = text(row[2]),
                  .letter = text(row[3]),
                  .after = text(row[4]),
                  .bench = text(row[5]),
                  .who = text(row[7]),
                  .at_ms = whole(row[8])};
    const std::string path = path_of(one.upload.id);
    const auto bytes = intake::mend_growing_wav(path);
    const auto audio =
        bytes && *bytes > 0 ? intake::open_audio(path) : Error{Fault::not_found, "nothing"};
    if (!audio) {
      forget(one.upload.id);
      continue;
    }
    known.insert(path);
    one.last.format = {static_cast<int>((*audio)->sample_rate_Hz()), (*audio)->channels()};
    one.last.kept_s = one.last.recorded_s =
        static_cast<double>((*audio)->frames()) / (*audio)->sample_rate_Hz();
    one.last.state = State::ended;
    one.error = "the server ended while it was recorded; what was kept until then is here";
    const std::lock_guard lock{guard_};
    ones_.emplace(one.upload.id, std::move(one));
  }
  std::error_code problem;
  for (fs::directory_iterator entry{folder_ + "/incoming", problem}, end; !problem && entry != end;
       entry.increment(problem)) {
    std::error_code ignored;
    if (entry->path().extension() == ".wav" && !known.contains(entry->path().string()))
      fs::remove(entry->path(), ignored);
  }
}

void Recorder::stop() {
  std::vector<std::unique_ptr<Recording>> running;
  {
    const std::lock_guard lock{guard_};
    stopping_ = true;
    for (auto& [id, one] : ones_)
      if (one.recording) running.push_back(std::move(one.recording));
    ones_.clear();
  }
}

json::Node Recorder::node_of(const One& one) const {
  const Recording::Now now = one.stage == Stage::live ? one.recording->now() : one.last;
  const char* state = "sent";
  if (one.stage == Stage::held) state = "held";
  if (one.stage == Stage::finishing || (one.stage == Stage::live && now.state == State::ended))
    state = "finishing";
  else if (one.stage == Stage::live)
    state = now.state == State::settling  ? "settling"
            : now.state == State::waiting ? "waiting"
                                          : "recording";
  return Object{{"id", one.upload.id},
                {"state", state},
                {"who", one.upload.who},
                {"at_ms", one.upload.at_ms},
                {"device", one.device},
                {"ticket", one.upload.ticket},
                {"letter", one.upload.letter},
                {"after", one.upload.after},
                {"bench", or_null(one.upload.bench)},
                {"title", one.title},
                {"programme_s", or_null(one.programme_s)},
                {"sample_rate_Hz", std::int64_t{now.format.sample_rate_Hz}},
                {"channels", std::int64_t{now.format.channels}},
                {"recorded_s", now.recorded_s},
                {"kept_s", now.kept_s},
                {"silent_s", now.silent_s},
                {"floor_dB", or_null(now.floor_dB)},
                {"peak_dB", reals(now.peak_dB)},
                {"highest_dB", reals(now.highest_dB)},
                {"clipped", now.clipped},
                {"overruns_s", reals(now.overruns_s)},
                {"false_starts", std::int64_t{now.false_starts}},
                {"ended", or_null(std::string{word_of(now.end)})},
                {"error", or_null(one.error)},
                {"job", or_null(one.upload.job)}};
}

}  // namespace goodside::serve
