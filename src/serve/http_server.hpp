#pragma once
#include <functional>
#include <memory>
#include <string>

#include "base/result.hpp"
#include "serve/asked.hpp"

namespace goodside::serve {

/// HTTP/1.1 for one Front: the only place that knows which library carries it.
class HttpServer {
 public:
  struct Setting {
    std::string address;
    int port{};                        ///< 0: any that is free
    std::string certificate{}, key{};  ///< files; empty: no TLS
  };
  using Answering = std::function<Answer(Asked&)>;

  /// Takes the port. Errors: Fault::conflict where it is taken; Fault::bad_input where certificate
  /// or key cannot be used.
  static Result<std::unique_ptr<HttpServer>> open(const Setting& setting, Answering answering);
  HttpServer(const HttpServer&) = delete;
  HttpServer& operator=(const HttpServer&) = delete;
  ~HttpServer();

  [[nodiscard]] int port() const;
  void run();   ///< until stop()
  void stop();  ///< from another thread; what is being answered is answered

 private:
  struct State;
  explicit HttpServer(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace goodside::serve
