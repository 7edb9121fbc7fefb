// The server against bytes on a socket, written by hand: whole, broken, slow, too many.
#include "desk/http.hpp"

#include <arpa/inet.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <fstream>
#include <thread>

namespace calcant::desk {
namespace {

using testing::HasSubstr;
using testing::StartsWith;

class Client {
 public:
  explicit Client(std::uint16_t port) : socket_(::socket(AF_INET, SOCK_STREAM, 0)) {
    sockaddr_in to{};
    to.sin_family = AF_INET;
    to.sin_port = htons(port);
    to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    connected_ = ::connect(socket_, reinterpret_cast<sockaddr*>(&to), sizeof to) == 0;
    const timeval patience{20, 0};
    ::setsockopt(socket_, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
  }
  ~Client() { ::close(socket_); }
  Client(const Client&) = delete;
  Client& operator=(const Client&) = delete;

  [[nodiscard]] bool connected() const { return connected_; }
  bool send(std::string_view text) {
    while (!text.empty()) {
      const auto n = ::send(socket_, text.data(), text.size(), MSG_NOSIGNAL);
      if (n <= 0) return false;
      text.remove_prefix(static_cast<std::size_t>(n));
    }
    return true;
  }
  // Until `end` has come, or the connection is closed.
  std::string read(const std::string& end = "\x01never") {
    std::string all;
    char block[65536];
    while (all.find(end) == std::string::npos) {
      const auto n = ::recv(socket_, block, sizeof block, 0);
      if (n <= 0) break;
      all.append(block, static_cast<std::size_t>(n));
    }
    return all;
  }

 private:
  int socket_;
  bool connected_ = false;
};

Response said(int status, std::string body) {
  Response r;
  r.status = status;
  r.body = std::move(body);
  return r;
}

class HttpTest : public testing::Test {
 protected:
  HttpTest() {
    folder_ = std::filesystem::temp_directory_path() / ("calcant-http-" + std::to_string(getpid()) + "-" +
                                                        testing::UnitTest::GetInstance()->current_test_info()->name());
    std::filesystem::remove_all(folder_);
    std::filesystem::create_directories(folder_);
    settings_.closing = std::chrono::milliseconds{500};
  }
  ~HttpTest() override {
    stop();
    std::filesystem::remove_all(folder_);
  }

  void begin() {
    site_.admit = [](const Head& head) -> std::variant<Response, Body> {
      if (head.target == "/turned-away") return said(403, "no");
      if (head.target == "/upload") return Body{3'000'000, upload_folder()};
      return Body{1000, {}};
    };
    site_.answer = [this](Request&& r) {
      Response out;
      out.body = r.head.method + " " + r.head.target + " " + r.body;
      if (r.head.target == "/throw") throw std::runtime_error("oops");
      if (r.head.target == "/upload") {
        out.body = std::to_string(std::filesystem::file_size(r.upload));
        if (r.head.header("keep") == "yes") std::filesystem::rename(r.upload, folder_ / "kept");
      }
      if (r.head.target == "/file") out.file = Response::FilePart{folder_ / "data", 10, 200'000}, out.body.clear();
      if (r.head.target == "/events") out.events = stream_, out.body.clear();
      return out;
    };
    site_.refuse = [](const Refusal& no) { return said(no.status, no.error.message); };
    folder_now_ = folder_;
    auto server = Server::listen(settings_);
    ASSERT_TRUE(server) << server.error().message;
    server_ = std::move(*server);
    thread_ = std::thread([this] { server_->run(site_, stop_.get_token()); });
  }
  void stop() {
    stop_.request_stop();
    if (thread_.joinable()) thread_.join();
  }
  static std::filesystem::path upload_folder() { return folder_now_; }
  std::string ask(std::string_view text, const std::string& end = "\x01never") {
    Client c{server_->port()};
    EXPECT_TRUE(c.send(text));
    return c.read(end);
  }

  static inline std::filesystem::path folder_now_;
  std::filesystem::path folder_;
  ServerSettings settings_;
  Site site_;
  std::shared_ptr<EventStream> stream_ = std::make_shared<EventStream>();
  std::unique_ptr<Server> server_;
  std::stop_source stop_;
  std::thread thread_;
};

TEST_F(HttpTest, AnswersOneAfterAnotherOnOneConnection) {
  begin();
  Client c{server_->port()};
  ASSERT_TRUE(c.send("GET /one HTTP/1.1\r\nHost: x\r\n\r\n"));
  const std::string first = c.read("GET /one ");
  EXPECT_THAT(first, StartsWith("HTTP/1.1 200 OK\r\n"));
  EXPECT_THAT(first, HasSubstr("Content-Length: 9\r\n"));
  ASSERT_TRUE(c.send("POST /two HTTP/1.1\r\nHost: x\r\nContent-Length: 5\r\n\r\nhello"));
  EXPECT_THAT(c.read("POST /two hello"), HasSubstr("POST /two hello"));
  // Both at once, the second before the first is answered.
  ASSERT_TRUE(
      c.send("GET /three HTTP/1.1\r\nHost: x\r\n\r\nGET /four HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n"));
  const std::string both = c.read();
  EXPECT_THAT(both, HasSubstr("GET /three "));
  EXPECT_THAT(both, HasSubstr("GET /four "));
  EXPECT_EQ(ask("HEAD /five HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n").find("HEAD /five"), std::string::npos);
}

TEST_F(HttpTest, BodiesInPieces) {
  begin();
  EXPECT_THAT(ask("PUT /x HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\nConnection: close\r\n\r\n"
                  "3\r\nabc\r\n4\r\ndefg\r\n0\r\n\r\n"),
              HasSubstr("PUT /x abcdefg"));
  Client c{server_->port()};
  ASSERT_TRUE(
      c.send("PUT /x HTTP/1.1\r\nHost: x\r\nExpect: 100-continue\r\nContent-Length: 3\r\nConnection: close\r\n\r\n"));
  EXPECT_THAT(c.read("\r\n\r\n"), StartsWith("HTTP/1.1 100 Continue"));
  ASSERT_TRUE(c.send("abc"));
  EXPECT_THAT(c.read(), HasSubstr("PUT /x abc"));
}

TEST_F(HttpTest, TooLargeIsToldAndNotTaken) {
  begin();
  EXPECT_THAT(ask("PUT /x HTTP/1.1\r\nHost: x\r\nContent-Length: 1001\r\n\r\n"), StartsWith("HTTP/1.1 413"));
  // In pieces, without a stated length: 50 MB against 1000 bytes. The sender goes on until the answer is there.
  Client c{server_->port()};
  ASSERT_TRUE(c.send("PUT /x HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\n\r\n"));
  const std::string piece = "10000\r\n" + std::string(65536, 'x') + "\r\n";
  for (int i = 0; i < 800; ++i) {
    if (!c.send(piece)) break;
  }
  const std::string answer = c.read();
  EXPECT_THAT(answer, StartsWith("HTTP/1.1 413"));
  EXPECT_THAT(answer, HasSubstr("1000 bytes"));
  EXPECT_THAT(ask("GET / HTTP/1.1\r\nHost: x\r\nCookie: " + std::string(20000, 'c') + "\r\n\r\n"),
              StartsWith("HTTP/1.1 431"));
}

TEST_F(HttpTest, TurnedAwayBeforeTheBodyIsRead) {
  begin();
  Client c{server_->port()};
  ASSERT_TRUE(c.send("POST /turned-away HTTP/1.1\r\nHost: x\r\nContent-Length: 100000000\r\n\r\n"));
  EXPECT_THAT(c.read(), StartsWith("HTTP/1.1 403"));
  // Without a body the connection goes on.
  Client d{server_->port()};
  ASSERT_TRUE(d.send("GET /turned-away HTTP/1.1\r\nHost: x\r\n\r\n"));
  EXPECT_THAT(d.read("no"), StartsWith("HTTP/1.1 403"));
  ASSERT_TRUE(d.send("GET /on HTTP/1.1\r\nHost: x\r\n\r\n"));
  EXPECT_THAT(d.read("GET /on "), HasSubstr("GET /on "));
}

TEST_F(HttpTest, WhatIsNoRequest) {
  begin();
  for (const char* odd : {"hello\r\n\r\n", "GET / HTTP/1.1\r\nno colon\r\n\r\n", "GET  HTTP/1.1\r\n\r\n",
                          "POST / HTTP/1.1\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\n",
                          "POST / HTTP/1.1\r\nContent-Length: 1\r\nTransfer-Encoding: chunked\r\n\r\n",
                          "POST / HTTP/1.1\r\nContent-Length: -1\r\n\r\n", "\x16\x03\x01\x02"}) {
    Client c{server_->port()};
    ASSERT_TRUE(c.send(odd));
    if (std::string_view{odd}.ends_with("\r\n\r\n")) {
      EXPECT_THAT(c.read(), StartsWith("HTTP/1.1 400")) << odd;
    }
  }
  EXPECT_THAT(ask("GET /still HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n"), HasSubstr("GET /still"));
}

TEST_F(HttpTest, UploadsGoToAFileAndNothingIsLeftOfThem) {
  begin();
  const std::string big(2'500'000, 'z');
  EXPECT_THAT(ask("POST /upload HTTP/1.1\r\nHost: x\r\nConnection: close\r\nContent-Length: 2500000\r\n\r\n" + big),
              HasSubstr("\r\n\r\n2500000"));
  EXPECT_TRUE(std::filesystem::is_empty(folder_));
  EXPECT_THAT(
      ask("POST /upload HTTP/1.1\r\nHost: x\r\nKeep: yes\r\nConnection: close\r\nContent-Length: 2500000\r\n\r\n" +
          big),
      HasSubstr("\r\n\r\n2500000"));
  EXPECT_EQ(std::filesystem::file_size(folder_ / "kept"), 2'500'000U);
  EXPECT_EQ(std::distance(std::filesystem::directory_iterator{folder_}, {}), 1);
  {  // given up half way
    Client c{server_->port()};
    ASSERT_TRUE(c.send("POST /upload HTTP/1.1\r\nHost: x\r\nContent-Length: 2500000\r\n\r\n" + big.substr(0, 1000)));
  }
  while (std::distance(std::filesystem::directory_iterator{folder_}, {}) > 1) std::this_thread::yield();
}

TEST_F(HttpTest, PartsOfFiles) {
  std::string data;
  for (int i = 0; i < 300'000; ++i) data += static_cast<char>('a' + i % 26);
  std::ofstream{folder_ / "data", std::ios::binary} << data;
  begin();
  const std::string answer = ask("GET /file HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n");
  EXPECT_THAT(answer, HasSubstr("Content-Length: 200000\r\n"));
  EXPECT_EQ(answer.substr(answer.find("\r\n\r\n") + 4), data.substr(10, 200'000));
}

TEST_F(HttpTest, EventsAsTheyHappenToManyTabs) {
  settings_.heartbeat = std::chrono::milliseconds{20};
  begin();
  stream_->push("first\n\n");
  Client c{server_->port()};
  ASSERT_TRUE(c.send("GET /events HTTP/1.1\r\nHost: x\r\n\r\n"));
  EXPECT_THAT(c.read("first\n\n"), testing::Not(HasSubstr("Content-Length")));
  stream_->push("second\n\n");
  EXPECT_THAT(c.read("second\n\n"), HasSubstr("second"));
  EXPECT_THAT(c.read(": still here\n\n"), HasSubstr(": still here"));
  EXPECT_THAT(ask("GET /meanwhile HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n"), HasSubstr("GET /meanwhile"));
  stream_->push("last\n\n");
  stream_->close();
  EXPECT_THAT(c.read(), HasSubstr("last"));  // and then the end
}

TEST_F(HttpTest, ATabThatGoesIsNoticed) {
  begin();
  {
    Client c{server_->port()};
    ASSERT_TRUE(c.send("GET /events HTTP/1.1\r\nHost: x\r\n\r\n"));
    stream_->push("first\n\n");
    (void)c.read("first");
  }
  while (!stream_->closed()) std::this_thread::yield();
}

TEST_F(HttpTest, SlowOnesAreGivenUp) {
  settings_.slow = std::chrono::milliseconds{400};
  settings_.idle = std::chrono::milliseconds{400};
  begin();
  EXPECT_EQ(ask("PUT /x HTTP/1.1\r\nHost: x\r\nContent-Length: 10\r\n\r\nabc"), "");
  EXPECT_EQ(ask("GET /x HTT"), "");
}

TEST_F(HttpTest, OnlySoManyConnections) {
  settings_.most_connections = 3;
  begin();
  std::vector<std::unique_ptr<Client>> many;
  for (int i = 0; i < 3; ++i) {
    many.push_back(std::make_unique<Client>(server_->port()));
    ASSERT_TRUE(many.back()->send("GET /x HTTP/1.1\r\nHost: x\r\n\r\n"));
    (void)many.back()->read("GET /x ");
  }
  Client more{server_->port()};
  (void)more.send("GET /x HTTP/1.1\r\nHost: x\r\n\r\n");
  EXPECT_EQ(more.read(), "");
  many.pop_back();
  std::string answer;
  while (answer.empty()) answer = ask("GET /x HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n");
  EXPECT_THAT(answer, HasSubstr("GET /x"));
}

TEST_F(HttpTest, AFaultOfOursIsToldAndEndsNothing) {
  begin();
  EXPECT_THAT(ask("GET /throw HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n"), StartsWith("HTTP/1.1 500"));
  EXPECT_THAT(ask("GET /on HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n"), HasSubstr("GET /on"));
}

TEST_F(HttpTest, APortThatIsTakenIsToldAndAStoppedServerLeavesIt) {
  begin();
  ServerSettings same;
  same.port = server_->port();
  const auto second = Server::listen(same);
  ASSERT_FALSE(second);
  EXPECT_THAT(second.error().message, HasSubstr("taken"));
  Client idle{same.port};
  Client events{same.port};
  ASSERT_TRUE(events.send("GET /events HTTP/1.1\r\nHost: x\r\n\r\n"));
  (void)events.read("\r\n\r\n");
  stop();
  EXPECT_EQ(idle.read(), "");
  EXPECT_EQ(events.read(), "");
  server_.reset();
  EXPECT_TRUE(Server::listen(same));
}

}  // namespace
}  // namespace calcant::desk
