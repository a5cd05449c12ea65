#include "serve/http_server.hpp"

#include <fmt/format.h>
#include <httplib.h>
#include <sys/socket.h>

#include <atomic>
#include <cerrno>
#include <cstring>
#include <filesystem>

namespace goodside::serve {
namespace {

// A thread a connection: a browser holds up to six, and fifty viewers must not wait for each other.
constexpr std::size_t threads = 320;
constexpr int backlog = 512;
constexpr std::size_t largest_piece = std::size_t{64} << 20, longest_path = 1024;
constexpr time_t read_wait_s = 20, write_wait_s = 20, idle_s = 3;

/// Nothing from elsewhere, no script in a page's own text, in nobody's frame.
constexpr const char* content_policy =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
    "media-src 'self' blob:; font-src 'self'; connect-src 'self'; worker-src 'self'; manifest-src "
    "'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

httplib::Headers every_answer(bool secure) {
  httplib::Headers headers{{"Content-Security-Policy", content_policy},
                           {"X-Content-Type-Options", "nosniff"},
                           {"X-Frame-Options", "DENY"},
                           {"Referrer-Policy", "no-referrer"},
                           {"Cross-Origin-Opener-Policy", "same-origin"},
                           {"Cross-Origin-Resource-Policy", "same-origin"},
                           {"Permissions-Policy", "camera=(), geolocation=(), microphone=()"}};
  if (secure) headers.emplace("Strict-Transport-Security", "max-age=31536000");
  return headers;
}

Asked asked_of(const httplib::Request& request) {
  Asked asked{.method = request.method, .path = request.path, .from = request.remote_addr};
  for (const auto& [name, value] : request.params) asked.query.try_emplace(name, value);
  for (const auto& [name, value] : request.headers) asked.headers.try_emplace(name, value);
  return asked;
}

const char* words_of(int status) {
  switch (status) {
    case 413:
      return "the request is too large";
    case 414:
      return "the path is too long";
    case 416:
      return "the range cannot be read; give bytes=first-last";
    default:
      return "the request cannot be understood";
  }
}

void send_text(httplib::Response& response, const Answer& answer) {
  response.set_content(answer.body, answer.type.c_str());
}

/// Sends the body and then ends the connection: a provider that fails after its last byte.
void send_and_close(httplib::Response& response, std::string body, const std::string& type) {
  const auto size = body.size();
  response.set_header("Connection", "close");
  response.set_content_provider(
      size,
      type.c_str(),
      [body = std::move(body)](std::size_t offset, std::size_t length, httplib::DataSink& sink) {
        sink.write(body.data() + offset, length);
        return false;
      });
}

void send(Answer answer, const httplib::Request& request, httplib::Response& response) {
  response.status = answer.status;
  bool cached = false;
  for (const auto& [name, value] : answer.headers) {
    response.set_header(name, value);
    cached = cached || name == "Cache-Control";
  }
  if (!cached) response.set_header("Cache-Control", "private, no-cache");
  if (answer.status == 304 || answer.status == 204) return;
  // The library compresses whatever it can, brotli at its slowest; what is packed stays as it is.
  auto& headers = const_cast<httplib::Headers&>(request.headers);
  const auto accepted = headers.find("Accept-Encoding");
  if (accepted != headers.end()) {
    const bool gzip = accepted->second.find("gzip") != std::string::npos;
    headers.erase("Accept-Encoding");
    if (gzip && !answer.packed && answer.status == 200 && answer.body.size() > 1000)
      headers.emplace("Accept-Encoding", "gzip");
  }
  if (answer.close)
    send_and_close(response, std::move(answer.body), answer.type);
  else
    response.set_content(answer.body, answer.type);
}

/// Ranges are cut by those who know the body's size (asked.hpp, ranged): the library promises bytes
/// beyond the end, and many ranges make an answer a thousand times its size.
void forget_ranges(const httplib::Request& request) {
  const_cast<httplib::Ranges&>(request.ranges).clear();
}

bool has_body(const httplib::Request& request) {
  return request.has_header("Transfer-Encoding") ||
         (request.has_header("Content-Length") &&
          request.get_header_value("Content-Length") != "0");
}

/// Why the body of this request is not read at all.
std::optional<Answer> unreadable(const httplib::Request& request) {
  std::optional<Answer> no;
  const auto refuse = [&](int status, const char* why) {
    no = refusal(status, why);
    no->close = true;
  };
  if (request.path.size() > longest_path) refuse(414, "the path is too long");
  if (!has_body(request)) return no;
  if (request.has_header("Transfer-Encoding") && request.has_header("Content-Length"))
    refuse(400, "Content-Length and Transfer-Encoding exclude each other");
  if (request.get_header_value_count("Content-Length") > 1)
    refuse(400, "Content-Length stands twice");
  if (request.has_header("Content-Encoding"))
    refuse(415, "Content-Encoding: send the bytes as they are");
  if (request.is_multipart_form_data()) refuse(415, "multipart forms are not taken");
  if (request.has_header("Content-Length")) {
    const auto length = whole_number(request.get_header_value("Content-Length"));
    if (!length) refuse(400, "Content-Length is no number");
    if (length && static_cast<std::size_t>(*length) > largest_piece)
      refuse(413, "send at most 64 MB in one request");
  }
  return no;
}

}  // namespace

struct HttpServer::State {
  std::unique_ptr<httplib::Server> server;
  Answering answering;
  std::atomic<bool> stopping{false};
  int port{}, socket{-1};

  void prepare();
  void answer_plain(const httplib::Request& request, httplib::Response& response);
  void answer_body(const httplib::Request& request,
                   httplib::Response& response,
                   const httplib::ContentReader& reader);
};

void HttpServer::State::answer_plain(const httplib::Request& request, httplib::Response& response) {
  if (auto no = unreadable(request)) return send(std::move(*no), request, response);
  Asked asked = asked_of(request);
  Answer out = answering(asked);
  out.close = out.close || has_body(request);  // of a GET: nobody reads it
  send(std::move(out), request, response);
}

void HttpServer::State::answer_body(const httplib::Request& request,
                                    httplib::Response& response,
                                    const httplib::ContentReader& reader) {
  if (auto no = unreadable(request)) return send(std::move(*no), request, response);
  Asked asked = asked_of(request);
  if (has_body(request))
    asked.read_body = [&](const std::function<bool(std::string_view)>& take) {
      std::size_t arrived = 0;
      return reader([&](const char* data, std::size_t count) {
        arrived += count;
        return !stopping && arrived <= largest_piece && take({data, count});
      });
    };
  send(answering(asked), request, response);
}

void HttpServer::State::prepare() {
  using Handled = httplib::Server::HandlerResponse;
  server->new_task_queue = [] { return new httplib::ThreadPool(threads); };
  server->set_tcp_nodelay(true);
  server->set_keep_alive_max_count(100'000);
  server->set_keep_alive_timeout(idle_s);
  server->set_read_timeout(read_wait_s);
  server->set_write_timeout(write_wait_s);
  server->set_payload_max_length(largest_piece);
  // The library would share a taken port with whoever else asks for it.
  server->set_socket_options([this](socket_t opened) {
    const int yes = 1;
    setsockopt(opened, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
    socket = opened;
  });
  server->set_pre_routing_handler(
      [this](const httplib::Request& request, httplib::Response& response) {
        forget_ranges(request);
        if (request.method != "GET" && request.method != "HEAD") return Handled::Unhandled;
        answer_plain(request, response);
        return Handled::Handled;
      });
  const std::string any = "[^]*";
  const auto with_body = [this](const httplib::Request& request,
                                httplib::Response& response,
                                const httplib::ContentReader& reader) {
    answer_body(request, response, reader);
  };
  const auto without = [this](const httplib::Request& request, httplib::Response& response) {
    answer_plain(request, response);
  };
  server->Post(any, with_body);
  server->Put(any, with_body);
  server->Patch(any, with_body);
  server->Delete(any, with_body);
  server->Delete(any, without);
  server->Options(any, without);
  // What the library refuses by itself is told like the rest.
  server->set_error_handler(httplib::Server::HandlerWithResponse{
      [](const httplib::Request&, httplib::Response& response) {
        if (response.has_header("Content-Type")) return Handled::Unhandled;
        send_text(response, refusal(response.status, words_of(response.status)));
        return Handled::Handled;
      }});
  server->set_exception_handler(
      [](const httplib::Request&, httplib::Response& response, std::exception_ptr) {
        response.status = 500;
        response.set_content("{\"error\":\"this is our own fault\"}", "application/json");
      });
}

HttpServer::HttpServer(std::unique_ptr<State> state) : state_{std::move(state)} {}
HttpServer::~HttpServer() = default;

Result<std::unique_ptr<HttpServer>> HttpServer::open(const Setting& setting, Answering answering) {
  auto state = std::make_unique<State>();
  state->answering = std::move(answering);
  const bool secure = !setting.certificate.empty();
  if (secure) {
    for (const std::string& file : {setting.certificate, setting.key})
      if (std::error_code ignored; !std::filesystem::exists(file, ignored))
        return Error{Fault::not_found, file + ": there is no such file"};
    auto server =
        std::make_unique<httplib::SSLServer>(setting.certificate.c_str(), setting.key.c_str());
    if (!server->is_valid())
      return Error{
          Fault::bad_input,
          fmt::format(
              "{} and {} are no certificate and its key in PEM", setting.certificate, setting.key)};
    state->server = std::move(server);
  } else {
    state->server = std::make_unique<httplib::Server>();
  }
  state->server->set_default_headers(every_answer(secure));
  state->prepare();
  errno = 0;
  if (setting.port == 0)
    state->port = state->server->bind_to_any_port(setting.address);
  else if (state->server->bind_to_port(setting.address, setting.port))
    state->port = setting.port;
  if (state->port <= 0)
    return Error{Fault::conflict,
                 fmt::format("port {} at {} cannot be taken ({}); end what holds it, or give "
                             "another with --port",
                             setting.port,
                             setting.address,
                             errno == 0 ? "it may be in use" : std::strerror(errno))};
  // The library lets five wait at the door; the sixth would try again after a second.
  ::listen(state->socket, backlog);
  return std::unique_ptr<HttpServer>{new HttpServer{std::move(state)}};
}

int HttpServer::port() const {
  return state_->port;
}

void HttpServer::run() {
  state_->server->listen_after_bind();
}

void HttpServer::stop() {
  state_->stopping = true;
  state_->server->stop();
}

}  // namespace goodside::serve
