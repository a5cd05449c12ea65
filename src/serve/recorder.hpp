#pragma once
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "json/node.hpp"
#include "serve/recording.hpp"
#include "serve/reports.hpp"
#include "serve/uploads.hpp"

namespace goodside::serve {

/// What somebody asks for at the bench.
struct NewRecording {
  std::string device, ticket, letter, after{"as found"}, bench{};
  std::int64_t sample_rate_Hz{96'000};
};

/// Sides that are recorded at the bench, each from an audio interface of its own. One that ended by
/// itself, whole, goes the way of a capture that was sent; one that broke off (sound lost, the disk
/// full, the interface or the server gone) is held until somebody says what becomes of it. From any
/// thread; throws Stop.
class Recorder {
 public:
  Recorder(std::string folder, Store& store, Records& records, Reports& reports, Uploads& uploads);
  Recorder(const Recorder&) = delete;
  Recorder& operator=(const Recorder&) = delete;
  ~Recorder();

  json::Node arm(const NewRecording& asked, const std::string& who);
  [[nodiscard]] json::Node list();
  [[nodiscard]] json::Node find(const std::string& id);
  json::Node begin(const std::string& id);
  json::Node end(const std::string& id);
  /// Sends one that is held.
  json::Node send(const std::string& id);
  void give_up(const std::string& id);

  /// Takes up what an earlier server left; before the uploads do.
  void sweep();
  /// Breaks off what runs; it is held at the next start.
  void stop();

 private:
  enum class Stage { live, finishing, held, sent };
  struct One {
    Upload upload{};
    std::string device{}, title{}, error{};
    std::optional<double> programme_s{};
    Stage stage{Stage::live};
    std::unique_ptr<Recording> recording{};
    Recording::Now last{};  ///< once it is no longer live
  };
  using Ones = std::map<std::string, One>;

  [[nodiscard]] std::string path_of(const std::string& id) const;
  One& need_one(const std::string& id);
  Recording& need_live(const std::string& id);
  [[nodiscard]] json::Node node_of(const One& one) const;
  void check_free(const std::string& device);
  void ended(const std::string& id);
  void hand_over(const std::string& id);
  void forget(const std::string& id);
  void drop_old();
  [[nodiscard]] std::optional<double> programme_s(const std::string& reference);

  std::string folder_;
  Store& store_;
  Records& records_;
  Reports& reports_;
  Uploads& uploads_;
  std::mutex guard_;
  bool stopping_{};
  Ones ones_;
};

}  // namespace goodside::serve
