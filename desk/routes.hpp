// The routes of the desk: one function each, in a table with what it needs. desk/openapi.yaml says what they take and answer.
#pragma once

#include <initializer_list>
#include <map>
#include <string>
#include <string_view>
#include <tl/expected.hpp>
#include <vector>

#include "desk/desk.hpp"
#include "desk/fields.hpp"
#include "desk/http.hpp"
#include "files/organfile/fault.hpp"

namespace calcant::desk {

// A request as a route sees it.
struct Asking {
  Desk& desk;
  std::vector<std::string> parts;  // what stood in the place of {id}, in order
  Fields query;
  Request request;

  [[nodiscard]] const std::string& part(std::size_t i) const { return parts[i]; }
};

// Why not: a sentence, with the faults of a file where there are some.
struct Why {
  int status = 422;
  Error error;
  std::vector<Fault> faults{};
};
using Answer = tl::expected<Response, Why>;
[[nodiscard]] tl::unexpected<Why> why(int status, std::string message, std::string where = {});
// An error of a job, under the status that fits where it comes from.
[[nodiscard]] tl::unexpected<Why> why(int status, const Error& error);

struct Route {
  std::string_view method;
  std::string_view path;  // "/api/faults/{id}/close"
  Answer (*answer)(Asking&);
  Carries carries = Carries::nothing;
  std::uint64_t limit = std::uint64_t{1} << 20;  // of the body
  std::string_view upload{};                     // folder (of the organ's) whose new file takes the body; empty: memory
};

[[nodiscard]] std::vector<Route> desk_routes();
[[nodiscard]] std::vector<Route> organ_routes();
[[nodiscard]] std::vector<Route> fault_routes();
[[nodiscard]] std::vector<Route> service_routes();
[[nodiscard]] std::vector<Route> change_routes();
[[nodiscard]] std::vector<Route> choosing_routes();
[[nodiscard]] std::vector<Route> wish_routes();
[[nodiscard]] std::vector<Route> saved_routes();
[[nodiscard]] std::vector<Route> trial_routes();
[[nodiscard]] std::vector<Route> hearing_routes();
[[nodiscard]] std::vector<Route> piece_routes();
[[nodiscard]] std::vector<Route> run_routes();
[[nodiscard]] std::vector<Route> kept_run_routes();
[[nodiscard]] std::vector<Route> task_routes();

// All of them, and the way from a target to one.
class Routes {
 public:
  Routes();
  struct Found {
    const Route* route = nullptr;  // nullptr: no such path
    bool other_method = false;     // the path is known, not with this method
    std::vector<std::string> parts;
  };
  [[nodiscard]] Found find(std::string_view method, const std::vector<std::string>& path) const;
  [[nodiscard]] const std::vector<Route>& all() const { return routes_; }

 private:
  std::vector<Route> routes_;
};

// -- what answers are made of ----------------------------------------------------------------------------------------
[[nodiscard]] Response json_answer(std::string json, int status = 200);
// With the header that says which organ it came from.
[[nodiscard]] Response json_answer(std::string json, const OpenOrgan& organ, int status = 200);
[[nodiscard]] Response sheet_answer(std::string html);
[[nodiscard]] Response musicxml_answer(std::string xml, const std::string& name);
[[nodiscard]] Response started(const std::string& task);
// A sound, or the one part of it that the header Range asks for (RFC 9110, section 14; several parts are answered by the
// whole, a part that is not there by 416).
[[nodiscard]] Answer sound_answer(const std::filesystem::path& path, const Head& head,
                                  std::string_view type = "audio/flac");
[[nodiscard]] Response refusal_answer(const Why& why);

// -- what requests are made of ---------------------------------------------------------------------------------------
[[nodiscard]] tl::expected<Fields, Why> body_of(const Asking& asking);
// 400 with the first fault.
[[nodiscard]] tl::expected<void, Why> finished(Fields& fields);
// Those of on, temperature, at and people that stand in `names`.
[[nodiscard]] Asked asked_of(Fields& fields, std::initializer_list<std::string_view> names);
// The organ, or 409 with what is wrong with its file.
[[nodiscard]] tl::expected<std::shared_ptr<const OpenOrgan>, Why> organ_of(Desk& desk, const Asked& asked = {});
// "12" in the address, or 404.
[[nodiscard]] tl::expected<std::int64_t, Why> entry_id(const Asking& asking, std::size_t part = 0);

// A way back, as member "undo" has it. body: JSON, or empty.
[[nodiscard]] Json undo_json(std::string_view method, const std::string& path, std::string_view body = {});

}  // namespace calcant::desk
