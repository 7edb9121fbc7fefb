#include "desk/http.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/thread_pool.hpp>
#include <boost/asio/write.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/http/buffer_body.hpp>
#include <boost/beast/http/parser.hpp>
#include <boost/beast/http/read.hpp>
#include <boost/beast/http/status.hpp>
#include <cctype>
#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <exception>
#include <limits>
#include <set>
#include <utility>  // before Asio: Boost 1.74 uses std::exchange without including it
#include <vector>

namespace calcant::desk {
namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = boost::beast::http;
using asio::ip::tcp;
using beast::error_code;

constexpr std::size_t block_size = 64 * 1024;
constexpr std::uint64_t most_discarded = std::uint64_t{64} << 20;  // of a body nobody wants, so that the answer arrives
constexpr auto discarding = std::chrono::seconds{5};

// A file of our own that is closed and, unless kept, removed.
class Scratch {
 public:
  Scratch() = default;
  Scratch(const Scratch&) = delete;
  Scratch& operator=(const Scratch&) = delete;
  ~Scratch() {
    finish();
    if (!path_.empty()) ::unlink(path_.c_str());
  }
  bool open(const std::filesystem::path& folder) {
    std::error_code fault;
    std::filesystem::create_directories(folder, fault);
    path_ = (folder / ".upload-XXXXXX").string();
    file_ = ::mkostemp(path_.data(), O_CLOEXEC);
    if (file_ < 0) path_.clear();
    return file_ >= 0;
  }
  bool write(const char* data, std::size_t size) {
    while (size > 0) {
      const auto n = ::write(file_, data, size);
      if (n < 0 && errno == EINTR) continue;
      if (n <= 0) return false;
      data += n;
      size -= static_cast<std::size_t>(n);
    }
    return true;
  }
  // On the disk, before whoever sent it is told that it is here.
  bool finish() {
    if (file_ < 0) return true;
    const bool whole = ::fsync(file_) == 0;
    ::close(file_);
    file_ = -1;
    return whole;
  }
  [[nodiscard]] const std::string& path() const { return path_; }

 private:
  int file_ = -1;
  std::string path_;
};

std::string small(std::string_view text) {
  std::string out{text};
  for (char& c : out) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return out;
}

std::string head_text(const Response& r, std::uint64_t length, bool keep) {
  const auto reason = http::obsolete_reason(http::int_to_status(static_cast<unsigned>(r.status)));
  std::string out = fmt::format("HTTP/1.1 {} {}\r\n", r.status, std::string_view{reason.data(), reason.size()});
  for (const auto& [name, value] : r.headers) {
    std::string one = value;
    std::erase_if(one, [](char c) { return c == '\r' || c == '\n' || c == '\0'; });
    out += fmt::format("{}: {}\r\n", name, one);
  }
  if (!r.events && r.status != 204 && r.status != 304) out += fmt::format("Content-Length: {}\r\n", length);
  out += keep ? "Connection: keep-alive\r\n\r\n" : "Connection: close\r\n\r\n";
  return out;
}

class Session;

// What the sessions share.
struct Common {
  const Site& site;
  const ServerSettings& settings;
  asio::io_context& io;
  asio::thread_pool& pool;
  std::set<Session*> sessions{};
  bool stopping = false;
};

// One connection. Everything but Site::answer happens on the one thread that runs the io_context.
class Session : public std::enable_shared_from_this<Session> {
 public:
  Session(tcp::socket socket, Common& common)
      : stream_(std::move(socket)), common_(common), heartbeat_(common.io), block_(block_size) {
    common_.sessions.insert(this);
  }
  ~Session() { common_.sessions.erase(this); }
  Session(const Session&) = delete;
  Session& operator=(const Session&) = delete;

  void read_head() {
    reading_head_ = true;
    parser_.emplace();
    parser_->header_limit(common_.settings.most_head);
    // A stated length is judged by the site; "no limit at all" would be below every length in Boost 1.74.
    parser_->body_limit(std::numeric_limits<std::uint64_t>::max());
    stream_.expires_after(common_.settings.idle);
    http::async_read_header(stream_, buffer_, *parser_,
                            [self = shared_from_this()](error_code fault, std::size_t) { self->on_head(fault); });
  }

  void stop() {
    if (events_) events_->close();
    if (reading_head_ || ending_) close();
  }

 private:
  void on_head(error_code fault) {
    reading_head_ = false;
    if (fault == http::error::end_of_stream || fault == asio::error::operation_aborted ||
        fault == beast::error::timeout || fault == asio::error::connection_reset || common_.stopping) {
      close();
      return;
    }
    keep_ = false;
    if (fault == http::error::header_limit || fault == http::error::buffer_overflow) {
      respond(common_.site.refuse({431, {"The request's head is too large.", "headers"}}));
      return;
    }
    if (fault) {
      respond(common_.site.refuse({400, {"This is no request of HTTP/1.1.", ""}}));
      return;
    }
    read_request();
    auto judged = common_.site.admit(request_.head);
    if (auto* turned_away = std::get_if<Response>(&judged)) {
      keep_ = parser_->keep_alive() && !request_.head.body;
      respond(std::move(*turned_away));
      return;
    }
    plan_ = std::get<Body>(std::move(judged));
    if (request_.head.length.value_or(0) > plan_.limit) {
      respond(common_.site.refuse(too_large(plan_.limit)));
      return;
    }
    parser_->body_limit(plan_.limit);
    if (!plan_.folder.empty()) {
      scratch_ = std::make_unique<Scratch>();
      if (!scratch_->open(plan_.folder)) {
        respond(common_.site.refuse({500, {"The upload cannot be written into the organ's folder.", "body"}}));
        return;
      }
    }
    keep_ = parser_->keep_alive();
    if (small(request_.head.header("expect")) == "100-continue") {
      static constexpr std::string_view go_on = "HTTP/1.1 100 Continue\r\n\r\n";
      stream_.expires_after(common_.settings.slow);
      asio::async_write(stream_, asio::buffer(go_on), [self = shared_from_this()](error_code wrong, std::size_t) {
        if (wrong) self->close();
        else self->read_body();
      });
      return;
    }
    read_body();
  }

  void read_request() {
    request_ = {};
    scratch_.reset();
    const auto& message = parser_->get();
    Head& head = request_.head;
    head.method = std::string{message.method_string().data(), message.method_string().size()};
    head.target = std::string{message.target().data(), message.target().size()};
    only_head_ = head.method == "HEAD";
    for (const auto& field : message) {
      std::string name = small({field.name_string().data(), field.name_string().size()});
      std::string value{field.value().data(), field.value().size()};
      if (!head.headers.emplace(name, std::move(value)).second) head.twice.push_back(std::move(name));
    }
    if (const auto length = parser_->content_length()) head.length = *length;
    head.body = parser_->chunked() || head.length.value_or(0) > 0;
  }

  void read_body() {
    if (parser_->is_done()) {
      answer();
      return;
    }
    parser_->get().body().data = block_.data();
    parser_->get().body().size = block_.size();
    parser_->get().body().more = true;
    stream_.expires_after(common_.settings.slow);
    http::async_read_some(stream_, buffer_, *parser_,
                          [self = shared_from_this()](error_code fault, std::size_t) { self->on_body(fault); });
  }

  void on_body(error_code fault) {
    if (fault == http::error::need_buffer) fault = {};
    if (fault == http::error::body_limit) {
      keep_ = false;
      respond(common_.site.refuse(too_large(plan_.limit)));
      return;
    }
    if (fault) {
      close();
      return;
    }
    const std::size_t got = block_.size() - parser_->get().body().size;
    if (scratch_) {
      if (!scratch_->write(block_.data(), got)) {
        keep_ = false;
        respond(common_.site.refuse(
            {507, {"The upload cannot be written to its end; see that the disk is not full.", "body"}}));
        return;
      }
    } else {
      request_.body.append(block_.data(), got);
    }
    read_body();
  }

  void answer() {
    if (scratch_) {
      if (!scratch_->finish()) {
        respond(common_.site.refuse(
            {507, {"The upload cannot be written to its end; see that the disk is not full.", "body"}}));
        return;
      }
      request_.upload = scratch_->path();
    }
    asio::post(common_.pool, [self = shared_from_this(), busy = asio::make_work_guard(common_.io)]() mutable {
      Response made;
      try {
        made = self->common_.site.answer(std::move(self->request_));
      } catch (const std::exception& e) {
        made = self->common_.site.refuse({500, {fmt::format("A fault in Calcant itself: {}.", e.what()), ""}});
      }
      auto& io = self->common_.io;
      asio::post(io, [self = std::move(self), made = std::move(made)]() mutable { self->respond(std::move(made)); });
    });
  }

  void respond(Response made) {
    response_ = std::move(made);
    scratch_.reset();
    if (response_.events || common_.stopping) keep_ = false;
    std::uint64_t length = response_.body.size() + response_.fixed.size();
    if (response_.file) length = response_.file->length;
    head_ = head_text(response_, length, keep_);
    std::vector<asio::const_buffer> parts{asio::buffer(head_)};
    if (!only_head_) {
      parts.push_back(asio::buffer(response_.body));
      parts.push_back(asio::buffer(response_.fixed));
    }
    stream_.expires_after(common_.settings.slow);
    asio::async_write(stream_, parts, [self = shared_from_this()](error_code fault, std::size_t) {
      if (fault) self->close();
      else if (self->response_.events && !self->only_head_) self->begin_events();
      else if (self->response_.file && !self->only_head_) self->begin_file();
      else self->finished();
    });
  }

  void begin_file() {
    file_ = ::open(response_.file->path.c_str(), O_RDONLY | O_CLOEXEC);
    if (file_ < 0) close();
    else send_file();
  }

  void send_file() {
    auto& part = *response_.file;
    if (part.length == 0) {
      ::close(std::exchange(file_, -1));
      finished();
      return;
    }
    const std::size_t wanted = static_cast<std::size_t>(std::min<std::uint64_t>(part.length, block_.size()));
    const auto got = ::pread(file_, block_.data(), wanted, static_cast<off_t>(part.from));
    if (got <= 0) {  // the file has shrunk meanwhile: what was promised cannot be kept
      ::close(std::exchange(file_, -1));
      close();
      return;
    }
    part.from += static_cast<std::uint64_t>(got);
    part.length -= static_cast<std::uint64_t>(got);
    stream_.expires_after(common_.settings.slow);
    asio::async_write(stream_, asio::buffer(block_.data(), static_cast<std::size_t>(got)),
                      [self = shared_from_this()](error_code fault, std::size_t) {
                        if (!fault) {
                          self->send_file();
                          return;
                        }
                        ::close(std::exchange(self->file_, -1));
                        self->close();
                      });
  }

  void begin_events() {
    events_ = response_.events;
    // The tab sends nothing more; a read that ends tells that it has gone.
    stream_.expires_never();
    stream_.async_read_some(asio::buffer(block_), [self = shared_from_this()](error_code, std::size_t) {
      self->events_->close();
      self->close();
    });
    events_->when_ready([weak = weak_from_this(), io = &common_.io] {
      // Moved, so that the session always ends on the thread that reads and writes.
      if (auto self = weak.lock()) asio::post(*io, [self = std::move(self)] { self->send_events(); });
    });
    beat();
  }

  void beat() {
    heartbeat_.expires_after(common_.settings.heartbeat);
    heartbeat_.async_wait([self = shared_from_this()](error_code fault) {
      if (fault || self->events_->closed()) return;
      self->events_->push(": still here\n\n");
      self->beat();
    });
  }

  void send_events() {
    if (sending_) return;
    telling_ = events_->take();
    if (telling_.empty()) {
      if (events_->closed()) close();
      return;
    }
    sending_ = true;
    stream_.expires_after(common_.settings.slow);
    asio::async_write(stream_, asio::buffer(telling_), [self = shared_from_this()](error_code fault, std::size_t) {
      self->sending_ = false;
      if (fault) {
        self->events_->close();
        self->close();
        return;
      }
      self->send_events();
    });
  }

  void finished() {
    response_ = {};
    if (keep_ && !common_.stopping) {
      read_head();
      return;
    }
    // Closed at once, with bytes unread, the connection would be reset and the answer lost with it.
    ending_ = true;
    error_code none;
    stream_.socket().shutdown(tcp::socket::shutdown_send, none);
    stream_.expires_after(discarding);
    discard();
  }

  void discard() {
    stream_.async_read_some(asio::buffer(block_), [self = shared_from_this()](error_code fault, std::size_t n) {
      self->discarded_ += n;
      if (fault || self->discarded_ > most_discarded || self->common_.stopping) self->close();
      else self->discard();
    });
  }

  void close() {
    heartbeat_.cancel();
    if (events_) events_->when_ready({});
    stream_.close();
  }

  beast::tcp_stream stream_;
  Common& common_;
  asio::steady_timer heartbeat_;
  beast::flat_buffer buffer_{block_size};
  std::vector<char> block_;
  std::optional<http::request_parser<http::buffer_body>> parser_;
  Request request_;
  Body plan_;
  std::unique_ptr<Scratch> scratch_;
  Response response_;
  std::string head_;
  std::shared_ptr<EventStream> events_;
  std::string telling_;
  int file_ = -1;
  std::uint64_t discarded_ = 0;
  bool reading_head_ = false;
  bool ending_ = false;
  bool only_head_ = false;
  bool keep_ = false;
  bool sending_ = false;
};

}  // namespace

struct Server::State {
  explicit State(const ServerSettings& s) : settings(s) {}

  void accept() {
    acceptor.async_accept([this](error_code fault, tcp::socket socket) {
      if (common->stopping || fault == asio::error::operation_aborted) return;
      if (!fault && common->sessions.size() < settings.most_connections) {
        error_code none;
        socket.set_option(tcp::no_delay(true), none);
        std::make_shared<Session>(std::move(socket), *common)->read_head();
      }
      accept();
    });
  }

  void stop(asio::steady_timer& patience) {
    common->stopping = true;
    error_code none;
    acceptor.close(none);
    const std::vector<Session*> now(common->sessions.begin(), common->sessions.end());
    for (Session* s : now) s->stop();
    patience.expires_after(settings.closing);
    patience.async_wait([this](error_code fault) {
      if (!fault) io.stop();
    });
  }

  ServerSettings settings;
  std::optional<Common> common;  // before io: sessions end with what waits there, and leave the list
  asio::io_context io{1};
  tcp::acceptor acceptor{io};
};

Server::Server(std::unique_ptr<State> state) : state_(std::move(state)) {}
Server::~Server() = default;

Result<std::unique_ptr<Server>> Server::listen(const ServerSettings& settings) {
  auto state = std::make_unique<State>(settings);
  const tcp::endpoint here{asio::ip::address_v4::loopback(), settings.port};
  error_code fault;
  state->acceptor.open(here.protocol(), fault);
  if (!fault) state->acceptor.set_option(asio::socket_base::reuse_address(true), fault);
  if (!fault) state->acceptor.bind(here, fault);
  if (!fault) state->acceptor.listen(asio::socket_base::max_listen_connections, fault);
  if (fault == asio::error::address_in_use) {
    return fail(fmt::format("Port {} is taken by another program, or by another desk.", settings.port), "--port");
  }
  if (fault) return fail(fmt::format("Port {} cannot be had: {}.", settings.port, fault.message()), "--port");
  return std::unique_ptr<Server>(new Server(std::move(state)));
}

std::uint16_t Server::port() const { return state_->acceptor.local_endpoint().port(); }

void Server::run(const Site& site, std::stop_token stop) {
  State& s = *state_;
  asio::thread_pool pool(static_cast<std::size_t>(s.settings.answering));
  s.common.emplace(Common{site, s.settings, s.io, pool});
  asio::steady_timer patience{s.io};
  s.accept();
  const std::stop_callback on_stop{stop, [&] { asio::post(s.io, [&] { s.stop(patience); }); }};
  while (!s.common->stopping || !s.common->sessions.empty()) {
    if (s.io.run_one() == 0) break;
  }
  pool.join();
}

}  // namespace calcant::desk
