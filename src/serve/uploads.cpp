#include "serve/uploads.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>

#include "intake/audio_file.hpp"
#include "intake/bench_profile.hpp"
#include "intake/digest.hpp"
#include "intake/works_folder.hpp"
#include "line/add_noun.hpp"
#include "line/read_fields.hpp"
#include "serve/nodes.hpp"
#include "serve/passwords.hpp"
#include "works/code.hpp"
#include "works/kind.hpp"

namespace goodside::serve {
namespace {

namespace fs = std::filesystem;
using ledger::at;
using ledger::Row;
using ledger::text;
using ledger::Value;
using ledger::whole;

constexpr std::int64_t largest_bytes = std::int64_t{16} << 30;
constexpr std::uintmax_t spare_bytes = std::uintmax_t{256} << 20;
constexpr std::size_t most_unfinished = 200, longest_name = 200;
constexpr std::int64_t day_ms = 86'400'000, kept_days = 3;

constexpr std::string_view upload_columns =
    "id, name, ticket, letter, after, bench, bytes, sha256, who, at_ms, kept_as, job";

/// An open file, closed with it.
class File {
 public:
  File(const std::string& path, int flags)
      : descriptor_{open(path.c_str(), flags | O_CLOEXEC, 0640)} {}
  File(const File&) = delete;
  File& operator=(const File&) = delete;
  ~File() {
    if (descriptor_ >= 0) close(descriptor_);
  }
  [[nodiscard]] int descriptor() const { return descriptor_; }

  void write_all(std::string_view bytes) const {
    while (!bytes.empty()) {
      const auto count = ::write(descriptor_, bytes.data(), bytes.size());
      if (count < 0 && errno == EINTR) continue;
      if (count < 0) no_room();
      bytes.remove_prefix(static_cast<std::size_t>(count));
    }
  }
  void to_disk() const {
    if (fsync(descriptor_) != 0) no_room();
  }

 private:
  [[noreturn]] static void no_room() {
    throw Stop{507, fmt::format("the capture cannot be written ({})", std::strerror(errno))};
  }
  int descriptor_;
};

std::int64_t size_of(const std::string& path) {
  std::error_code problem;
  const auto size = fs::file_size(path, problem);
  return problem ? 0 : static_cast<std::int64_t>(size);
}

void folder_to_disk(const std::string& path) {
  const File folder{path, O_RDONLY | O_DIRECTORY};
  if (folder.descriptor() >= 0) folder.to_disk();
}

std::string ending_of(const std::string& name) {
  std::string ending = fs::path{name}.extension().string();
  std::ranges::transform(ending, ending.begin(), [](char letter) {
    return letter >= 'A' && letter <= 'Z' ? static_cast<char>(letter - 'A' + 'a') : letter;
  });
  for (const char* known :
       {".wav", ".wave", ".rf64", ".w64", ".flac", ".aif", ".aiff", ".caf", ".ogg"})
    if (ending == known) return ending;
  throw Stop{422, "name: a capture ends in .wav, .rf64, .w64, .flac, .aiff, .caf or .ogg"};
}

void check(const NewUpload& upload, const std::string& folder) {
  if (upload.name.empty() || upload.name.size() > longest_name || !line::fit_text(upload.name) ||
      upload.name.find_first_of("/\n\t") != std::string::npos)
    throw Stop{422, "name: give the file's own name, without folders"};
  static_cast<void>(ending_of(upload.name));
  if (upload.letter.size() != 1 || upload.letter[0] < 'A' || upload.letter[0] > 'Z')
    throw Stop{422, "letter: give the side's letter, A, B …"};
  if (upload.bytes < 1) throw Stop{422, "bytes: the capture is empty"};
  if (upload.bytes > largest_bytes)
    throw Stop{413, fmt::format("bytes: a capture has at most {} GiB", largest_bytes >> 30)};
  if (upload.after != "as found" && upload.after != "brushed" && upload.after != "washed" &&
      upload.after != "reseated")
    throw Stop{422, "after: give as found, brushed, washed or reseated"};
  if (!upload.sha256.empty() &&
      (upload.sha256.size() != 64 ||
       upload.sha256.find_first_not_of("0123456789abcdef") != std::string::npos))
    throw Stop{422, "sha256: give 64 hexadecimal digits, small letters"};
  if (!upload.bench.empty())
    static_cast<void>(or_stop(
        intake::read_bench((fs::path{folder} / intake::works_file_name).string(), upload.bench)));
}

/// A ticket by its code, or by the name that its captures are called by.
std::string ticket_of(ledger::Reader& reader, const std::string& called) {
  if (const auto code = works::read_code(called))
    if (const auto row = reader.find("ticket", *code); row && ledger::stands(*row)) return *code;
  const auto named = reader.standing("ticket", "name", called);
  if (named.size() == 1) return text(at(named[0], "code"));
  throw Stop{404, fmt::format("no sample ticket is called {}", called.substr(0, 40))};
}

Upload upload_from(const ledger::Values& row) {
  Upload upload{.id = text(row[0]),
                .name = text(row[1]),
                .ticket = text(row[2]),
                .letter = text(row[3]),
                .after = text(row[4]),
                .bench = text(row[5]),
                .sha256 = text(row[7]),
                .who = text(row[8]),
                .kept_as = text(row[10]),
                .job = text(row[11])};
  upload.bytes = whole(row[6]);
  upload.at_ms = whole(row[9]);
  return upload;
}

}  // namespace

/// One request at a time writes to an upload.
class Uploads::Held {
 public:
  Held(Uploads& uploads, const std::string& id) : uploads_{uploads}, id_{id} {
    const std::lock_guard lock{uploads_.guard_};
    if (!uploads_.held_.insert(id).second)
      throw Stop{409, "another request is writing to this upload"};
  }
  Held(const Held&) = delete;
  Held& operator=(const Held&) = delete;
  ~Held() {
    const std::lock_guard lock{uploads_.guard_};
    uploads_.held_.erase(id_);
  }

 private:
  Uploads& uploads_;
  const std::string id_;
};

Uploads::Uploads(std::string folder, Store& store, Records& records, Jobs& jobs)
    : folder_{std::move(folder)}, store_{store}, records_{records}, jobs_{jobs} {}

std::string Uploads::part_path(const std::string& id) const {
  return folder_ + "/incoming/" + id + ".part";
}

Upload Uploads::expect(const NewUpload& asked, const std::string& who) {
  check(asked, folder_);
  Upload upload{.id = random_token().substr(0, 32),
                .name = asked.name,
                .letter = asked.letter,
                .after = asked.after,
                .bench = asked.bench,
                .sha256 = asked.sha256,
                .who = who,
                .bytes = asked.bytes,
                .at_ms = now_ms()};
  records_.read([&](ledger::Reader& reader) { upload.ticket = ticket_of(reader, asked.ticket); });
  std::error_code problem;
  const auto space = fs::space(folder_, problem);
  if (!problem && space.available < static_cast<std::uintmax_t>(upload.bytes) + spare_bytes)
    throw Stop{507,
               fmt::format("the disk of the works folder has {} MB left; make room first",
                           space.available >> 20)};
  return upload;
}

void Uploads::insert(const Upload& upload) {
  store_.run(
      "INSERT INTO upload (id, name, ticket, letter, after, bench, bytes, sha256, who, at_ms) "
      "VALUES "
      "($1, $2, $3, $4, $5, $6, $7, $8, $9, $10) ON CONFLICT (id) DO NOTHING",
      {upload.id,
       upload.name,
       upload.ticket,
       upload.letter,
       upload.after,
       upload.bench,
       upload.bytes,
       upload.sha256,
       upload.who,
       upload.at_ms});
  jobs_.changed();
}

Upload Uploads::announce(const NewUpload& asked, const std::string& who) {
  Upload upload = expect(asked, who);
  if (unfinished().size() >= most_unfinished)
    throw Stop{
        429, fmt::format("{} uploads are under way; finish some first", most_unfinished), 60};
  insert(upload);
  return upload;
}

Upload Uploads::adopt(const Upload& upload, const std::string& path) {
  const Held held{*this, upload.id};
  insert(upload);
  std::error_code problem;
  if (fs::exists(path, problem)) fs::rename(path, part_path(upload.id), problem);
  if (problem)
    throw Stop{503, fmt::format("{} cannot be put in place ({})", path, problem.message())};
  Upload now = find(upload.id);
  if (!now.job.empty()) return now;
  return finish(std::move(now));
}

Upload Uploads::find(const std::string& id) {
  const auto rows =
      store_.ask(fmt::format("SELECT {} FROM upload WHERE id = $1", upload_columns), {id});
  if (rows.empty()) throw Stop{404, fmt::format("there is no upload {}", id.substr(0, 40))};
  Upload upload = upload_from(rows[0]);
  upload.offset = upload.kept_as.empty() ? size_of(part_path(id)) : upload.bytes;
  return upload;
}

std::vector<Upload> Uploads::unfinished() {
  std::vector<Upload> uploads;
  for (const auto& row : store_.ask(fmt::format(
           "SELECT {} FROM upload WHERE job IS NULL ORDER BY at_ms, id", upload_columns))) {
    Upload upload = upload_from(row);
    upload.offset = upload.kept_as.empty() ? size_of(part_path(upload.id)) : upload.bytes;
    uploads.push_back(std::move(upload));
  }
  return uploads;
}

Upload Uploads::append(const std::string& id, std::int64_t offset, const BodyReader& read_body) {
  const Held held{*this, id};
  Upload upload = find(id);
  if (!upload.job.empty()) throw Stop{409, "all of it has arrived already"};
  if (offset != upload.offset)
    throw Stop{409,
               fmt::format("Upload-Offset is {}, but {} bytes have arrived; go on from there",
                           offset,
                           upload.offset)};
  if (upload.kept_as.empty()) upload.offset = write_on(upload, read_body);
  if (upload.offset < upload.bytes) return upload;
  return finish(std::move(upload));
}

/// How much has arrived, all of it on the disk.
std::int64_t Uploads::write_on(const Upload& upload, const BodyReader& read_body) {
  const File file{part_path(upload.id), O_WRONLY | O_CREAT | O_APPEND};
  if (file.descriptor() < 0)
    throw Stop{507, fmt::format("the capture cannot be written ({})", std::strerror(errno))};
  Running running;
  {
    const std::lock_guard lock{guard_};
    if (auto known = hashes_.extract(upload.id)) running = std::move(known.mapped());
  }
  std::int64_t arrived = upload.offset;
  bool too_much = false;
  const bool whole_body = read_body([&](std::string_view bytes) {
    if (arrived + static_cast<std::int64_t>(bytes.size()) > upload.bytes) {
      too_much = true;
      return true;  // read on, so that the answer can be sent
    }
    if (too_much) return true;
    file.write_all(bytes);
    if (running.hashed == arrived) {
      running.hash.take(bytes);
      running.hashed += static_cast<std::int64_t>(bytes.size());
    }
    arrived += static_cast<std::int64_t>(bytes.size());
    return true;
  });
  file.to_disk();
  if (upload.offset == 0) folder_to_disk(folder_ + "/incoming");
  if (running.hashed == arrived) {
    const std::lock_guard lock{guard_};
    hashes_.insert_or_assign(upload.id, std::move(running));
  }
  jobs_.changed();
  if (too_much)
    throw Stop{413, fmt::format("more than the {} bytes that were announced", upload.bytes)};
  if (!whole_body) throw Stop{400, "the request broke off; go on from what has arrived"};
  return arrived;
}

std::string Uploads::hash_of(const Upload& upload) {
  {
    const std::lock_guard lock{guard_};
    if (auto known = hashes_.extract(upload.id); known && known.mapped().hashed == upload.bytes)
      return hexadecimal(known.mapped().hash.finish());
  }
  return or_stop(intake::sha256_of_file(part_path(upload.id)));
}

Upload Uploads::finish(Upload upload) {
  const std::string sha256 = upload.kept_as.empty() ? hash_of(upload) : upload.sha256;
  // Two plays of one side must not take one name.
  const std::lock_guard one_at_a_time{finishing_};
  if (upload.kept_as.empty()) {
    const std::string part = part_path(upload.id);
    if (!upload.sha256.empty() && upload.sha256 != sha256) {
      remove(upload.id);
      throw Stop{422, "what arrived is not the file that was announced (SHA-256); send it again"};
    }
    if (const auto audio = intake::open_audio(part); !audio) {
      remove(upload.id);
      std::string why = audio.error().text;
      if (const auto at_path = why.find(part); at_path != std::string::npos)
        why.replace(at_path, part.size(), upload.name);
      throw Stop{422, why};
    }
    upload.sha256 = sha256;
    upload.kept_as = known_capture(upload);
  }
  if (upload.kept_as.empty()) {
    const std::string stem = fmt::format("captures/{}_{}", upload.ticket, upload.letter);
    const std::string ending = ending_of(upload.name);
    upload.kept_as = stem + ending;
    std::error_code ignored;
    if (fs::exists(folder_ + "/" + upload.kept_as, ignored))
      upload.kept_as = fmt::format("{}-{}{}", stem, sha256.substr(0, 12), ending);
  }
  store_.run("UPDATE upload SET kept_as = $1, sha256 = $2 WHERE id = $3",
             {upload.kept_as, sha256, upload.id});
  finish_kept(upload);
  return find(upload.id);
}

/// The same bytes of the same side of the same disc, where they are here already.
std::string Uploads::known_capture(const Upload& upload) {
  std::string path;
  records_.read([&](ledger::Reader& reader) {
    for (const Row& row : reader.standing("capture", "ticket", upload.ticket))
      if (text(at(row, "letter")) == upload.letter && text(at(row, "sha256")) == upload.sha256)
        path = text(at(row, "path"));
  });
  std::error_code ignored;
  return fs::exists(fs::path{folder_} / path, ignored) ? path : std::string{};
}

/// Each step may have been done before a server was killed.
void Uploads::finish_kept(const Upload& upload) {
  const std::string part = part_path(upload.id);
  const std::string target = (fs::path{folder_} / upload.kept_as).string();
  std::error_code problem;
  if (fs::exists(part, problem)) {
    fs::rename(part, target, problem);
    if (problem)
      throw Stop{503, fmt::format("{} cannot be put in place ({})", target, problem.message())};
    folder_to_disk(folder_ + "/captures");
    folder_to_disk(folder_ + "/incoming");
  }
  records_.at_desk(upload.who, [&](const line::Desk& desk) {
    std::int64_t play = 1;
    bool known = false;
    or_stop(desk.record.read([&](ledger::Reader& reader) {
      for (const Row& row : reader.standing("capture", "ticket", upload.ticket)) {
        if (text(at(row, "letter")) != upload.letter) continue;
        known = known || text(at(row, "sha256")) == upload.sha256;
        ++play;
      }
    }));
    if (known) return;
    line::Typed typed{{"ticket", upload.ticket},
                      {"letter", upload.letter},
                      {"path", upload.kept_as},
                      {"sha256", upload.sha256},
                      {"play", fmt::format("{}", play)},
                      {"after", upload.after}};
    if (!upload.bench.empty()) typed.emplace_back("bench", upload.bench);
    or_stop(line::add_noun(desk, works::kind_of_table("capture"), typed));
  });
  store_.in([&](ledger::Connection& connection) {
    Jobs::put(connection,
              {.id = upload.id.substr(0, 16),
               .what = upload.name,
               .ticket = upload.ticket,
               .letter = upload.letter,
               .path = upload.kept_as,
               .sha256 = upload.sha256,
               .bench = upload.bench,
               .who = upload.who},
              now_ms());
    connection.run("UPDATE upload SET job = $1 WHERE id = $2",
                   {upload.id.substr(0, 16), upload.id});
  });
  jobs_.wake();
}

void Uploads::give_up(const std::string& id) {
  const Held held{*this, id};
  const Upload upload = find(id);
  if (!upload.kept_as.empty()) throw Stop{409, "all of it has arrived; cancel its job instead"};
  remove(id);
}

void Uploads::remove(const std::string& id) {
  store_.run("DELETE FROM upload WHERE id = $1", {id});
  std::error_code ignored;
  fs::remove(part_path(id), ignored);
  const std::lock_guard lock{guard_};
  hashes_.erase(id);
  jobs_.changed();
}

void Uploads::sweep() {
  std::error_code problem;
  for (const char* inner : {"/incoming", "/captures"})
    fs::create_directories(folder_ + inner, problem);
  const std::int64_t oldest_ms = now_ms() - kept_days * day_ms;
  store_.run("DELETE FROM upload WHERE job IS NOT NULL AND at_ms < $1", {oldest_ms});
  std::set<std::string> known;
  for (const Upload& upload : unfinished()) {
    known.insert(part_path(upload.id));
    try {
      if (!upload.kept_as.empty())
        finish_kept(upload);
      else if (upload.bytes == upload.offset)
        static_cast<void>(finish(upload));
      else if (upload.at_ms < oldest_ms)
        remove(upload.id);
    } catch (const Stop&) {
      // Whoever sends the last piece again hears why.
    }
  }
  for (fs::directory_iterator entry{folder_ + "/incoming", problem}, end; !problem && entry != end;
       entry.increment(problem)) {
    std::error_code ignored;
    if (entry->path().extension() == ".part" && !known.contains(entry->path().string()))
      fs::remove(entry->path(), ignored);
  }
}

json::Node upload_node(const Upload& upload) {
  return Object{{"id", upload.id},
                {"name", upload.name},
                {"ticket", upload.ticket},
                {"letter", upload.letter},
                {"bytes", upload.bytes},
                {"offset", upload.offset},
                {"who", upload.who},
                {"at_ms", upload.at_ms},
                {"job", or_null(upload.job)}};
}

}  // namespace goodside::serve
