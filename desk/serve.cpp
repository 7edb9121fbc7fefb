#include "desk/serve.hpp"

#include <fmt/format.h>
#include <sys/random.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <cstdlib>
#include <memory>

#include "desk/desk.hpp"
#include "desk/http.hpp"
#include "desk/pages.hpp"
#include "desk/routes.hpp"

namespace calcant::desk {
namespace {

// 128 random bits as 32 hexadecimal digits.
Result<std::string> secret() {
  std::array<unsigned char, 16> bytes{};
  if (::getrandom(bytes.data(), bytes.size(), 0) != static_cast<ssize_t>(bytes.size())) {
    return fail("This computer gives no random numbers, and without a secret the desk is not opened.");
  }
  std::string out;
  for (const unsigned char b : bytes) out += fmt::format("{:02x}", b);
  return out;
}

// A folder for the sounds of this run, gone with it.
class Scratch {
 public:
  Scratch() {
    std::string name = (std::filesystem::temp_directory_path() / "calcant-desk-XXXXXX").string();
    if (::mkdtemp(name.data()) != nullptr) path_ = name;
  }
  ~Scratch() {
    std::error_code none;
    if (!path_.empty()) std::filesystem::remove_all(path_, none);
  }
  Scratch(const Scratch&) = delete;
  Scratch& operator=(const Scratch&) = delete;
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

// What an interrupted run may have left half made.
void sweep(const std::filesystem::path& folder) {
  std::error_code none;
  for (const auto* where : {"recordings", "prepared", "prepared/music"}) {
    for (const auto& entry : std::filesystem::directory_iterator(folder / where, none)) {
      const std::string name = entry.path().filename().string();
      if (name.starts_with(".upload-") || name.starts_with(".making-")) std::filesystem::remove_all(entry.path(), none);
    }
  }
}

class Front {
 public:
  explicit Front(Desk& desk) : desk_(desk), keys_(desk.settings().keys) {}

  std::variant<Response, Body> admit(const Head& head) const {
    const bool api = head.target == "/api" || head.target.starts_with("/api/") || head.target.starts_with("/api?");
    if (auto no = refused_at_the_door(keys_, head, !api)) return refuse(*no);
    const auto target = parse_target(head.target);
    if (!target) return refuse({400, target.error()});
    if (!api) {
      if (head.method != "GET" && head.method != "HEAD") return refuse({405, {"Pages are only read.", "method"}});
      if (head.body) return refuse({400, {"This takes no body.", "body"}});
      return with_security(page_answer(built_in_pages(), target->parts, head));
    }
    const auto found = routes_.find(head.method, target->parts);
    if (found.route == nullptr) {
      if (found.other_method) return refuse({405, {"This address does not take that method.", "method"}});
      return refuse({404, {"The desk has no such address.", "address"}});
    }
    const Route& r = *found.route;
    const Needs needs = r.path == "/api/session" ? Needs::session : r.method == "GET" ? Needs::read : Needs::change;
    if (auto no = refused(keys_, head, needs, r.carries)) return refuse(*no);
    if (auto no = too_large(head, r.limit)) return refuse(*no);
    Body body{r.carries == Carries::nothing ? 0 : r.limit, {}};
    if (!r.upload.empty()) body.folder = desk_.folder() / r.upload;
    return body;
  }

  Response answer(Request&& request) const {
    const auto target = parse_target(request.head.target);
    const auto found = routes_.find(request.head.method, target->parts);
    Asking asking{desk_, found.parts, Fields::of_query(target->query), std::move(request)};
    auto made = found.route->answer(asking);
    if (made) return with_security(std::move(*made));
    made.error().error = desk_.in_folder(std::move(made.error().error));
    return with_security(refusal_answer(made.error()));
  }

  Response refuse(const Refusal& no) const { return with_security(refusal_answer({no.status, no.error})); }

 private:
  static Response with_security(Response r) {
    const auto own = security_headers();
    r.headers.insert(r.headers.end(), own.begin(), own.end());
    return r;
  }

  Desk& desk_;
  const Keys& keys_;
  Routes routes_;
};

Result<std::unique_ptr<Server>> listen(std::optional<std::uint16_t> port) {
  ServerSettings settings;
  settings.port = port.value_or(usual_port);
  auto server = Server::listen(settings);
  if (server || port) return server;
  settings.port = 0;
  return Server::listen(settings);
}

}  // namespace

Result<void> serve(const ServeSettings& settings, const std::function<void(const std::string&)>& opened,
                   const Work& work) {
  std::error_code fault;
  const auto folder = std::filesystem::canonical(settings.folder, fault);
  if (fault || !std::filesystem::is_directory(folder, fault)) {
    return fail("There is no such folder; make an empty one for a new organ.", settings.folder.string());
  }
  const auto token = secret();
  const auto cookie = secret();
  if (!token) return tl::unexpected<Error>(token.error());
  if (!cookie) return tl::unexpected<Error>(cookie.error());
  const Scratch sounds;
  if (sounds.path().empty()) return fail("There is no place for temporary files.");
  auto server = listen(settings.port);
  if (!server) return tl::unexpected<Error>(server.error());
  sweep(folder);

  DeskSettings own;
  own.folder = folder;
  own.sounds = sounds.path();
  own.version = settings.version;
  own.today = settings.today;
  own.threads = work.threads;
  // Milliseconds, so that a run's first number is above all that an earlier run can have used.
  own.run = static_cast<std::uint64_t>(
      std::chrono::duration_cast<std::chrono::milliseconds>(std::chrono::system_clock::now().time_since_epoch())
          .count());
  own.run *= 1000;
  own.keys = {(*server)->port(), *token, *cookie};
  Desk desk{own};
  const Front front{desk};
  Site site;
  site.admit = [&](const Head& head) { return front.admit(head); };
  site.answer = [&](Request&& request) { return front.answer(std::move(request)); };
  site.refuse = [&](const Refusal& no) { return front.refuse(no); };
  opened(fmt::format("http://127.0.0.1:{}/#{}", own.keys.port, own.keys.token));
  const std::stop_callback stop{work.stop, [&desk] {
                                  desk.tasks().stop();
                                  desk.events().close_all();
                                }};
  (*server)->run(site, work.stop);
  return {};
}

}  // namespace calcant::desk
