// What a request says: the members of its JSON body, or of its query. Each is asked for by name, type and range; the first
// fault is kept, and finish() tells it, or the members nobody asked for.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/result.hpp"
#include "jobs/json.hpp"

namespace calcant::desk {

class Fields {
 public:
  // An object; empty text is an empty one.
  [[nodiscard]] static Result<Fields> of_body(std::string_view json);
  [[nodiscard]] static Fields of_query(const std::map<std::string, std::string, std::less<>>& query);
  Fields(Fields&&) noexcept;
  Fields& operator=(Fields&&) noexcept;
  ~Fields();

  [[nodiscard]] bool has(const std::string& name);
  [[nodiscard]] bool is_null(const std::string& name);  // there, and null
  // Left out: nothing. At most `most` bytes.
  [[nodiscard]] std::optional<std::string> text(const std::string& name, std::size_t most = 300);
  [[nodiscard]] std::string text_or(const std::string& name, std::string otherwise, std::size_t most = 300);
  // Left out: a fault.
  [[nodiscard]] std::string required(const std::string& name, std::size_t most = 300);
  [[nodiscard]] std::optional<std::string> one_of(const std::string& name, const std::vector<std::string>& words);
  [[nodiscard]] std::optional<double> number(const std::string& name, double low, double high);
  [[nodiscard]] std::optional<int> whole(const std::string& name, int low, int high);
  [[nodiscard]] std::optional<bool> truth(const std::string& name);
  [[nodiscard]] std::optional<std::string> date(const std::string& name);
  [[nodiscard]] std::optional<std::vector<std::string>> texts(const std::string& name, std::size_t most,
                                                              std::size_t longest = 300);
  // Left out: a fault.
  [[nodiscard]] std::vector<std::int64_t> wholes(const std::string& name, std::size_t most);
  // An object, or a list of objects, of their own; the caller finishes them.
  [[nodiscard]] std::optional<Fields> table(const std::string& name);
  [[nodiscard]] std::optional<std::vector<Fields>> tables(const std::string& name, std::size_t most);

  void fault(std::string message, std::string where);
  [[nodiscard]] Result<void> finish();

 private:
  struct State;
  explicit Fields(std::unique_ptr<State> state);
  const Json* find(const std::string& name);
  std::unique_ptr<State> state_;
};

}  // namespace calcant::desk
