// The server: HTTP/1.1 on this computer only, behind plain structs. The library it stands on (Boost.Beast) is seen by
// http.cpp alone.
//
// One thread reads and writes; a few answer. A request's head is judged before its body is read; bodies have a limit, also
// those that come in pieces without a stated length; large ones go to a file as they come. Slow senders and takers are
// given up.
#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <stop_token>
#include <string>
#include <string_view>
#include <variant>

#include "desk/events.hpp"
#include "desk/guard.hpp"

namespace calcant::desk {

struct Request {
  Head head;
  std::string body;              // where it was not put into a file
  std::filesystem::path upload;  // the file it was put into; whoever answers moves it or it is removed
};

struct Response {
  int status = 200;
  Headers headers;
  // One of these is the body.
  std::string body;
  std::string_view fixed;  // bytes that stay as long as the program runs
  struct FilePart {
    std::filesystem::path path;
    std::uint64_t from = 0;
    std::uint64_t length = 0;
  };
  std::optional<FilePart> file;
  std::shared_ptr<EventStream> events;
};

// What is to become of a request's body.
struct Body {
  std::uint64_t limit = 0;       // bytes
  std::filesystem::path folder;  // a file in this folder takes it; empty: memory
};

struct Site {
  // Judges a request by its head, on the thread that reads and writes: quickly.
  std::function<std::variant<Response, Body>(const Head&)> admit;
  // Answers it, on one of a few threads.
  std::function<Response(Request&&)> answer;
  // Told in the words of the server: "too large", "no request".
  std::function<Response(const Refusal&)> refuse;
};

struct ServerSettings {
  std::uint16_t port = 0;  // 0: any that is free
  int answering = 4;       // threads
  std::size_t most_connections = 100;
  std::uint32_t most_head = 16 * 1024;  // bytes
  std::chrono::milliseconds idle{60'000};
  std::chrono::milliseconds slow{30'000};       // nothing came, or nothing was taken, for so long
  std::chrono::milliseconds closing{1'500};     // for what is being answered when the server is stopped
  std::chrono::milliseconds heartbeat{15'000};  // of event streams
};

class Server {
 public:
  // Takes the port on 127.0.0.1. An error says that it is taken.
  [[nodiscard]] static Result<std::unique_ptr<Server>> listen(const ServerSettings& settings);
  ~Server();
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;

  [[nodiscard]] std::uint16_t port() const;
  // Serves until stopped. What is being answered then is finished, as far as that takes no longer than `closing`.
  void run(const Site& site, std::stop_token stop);

 private:
  struct State;
  explicit Server(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace calcant::desk
