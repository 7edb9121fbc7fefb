#include "files/organfile/organfile.hpp"

#include <fmt/format.h>

#include <fstream>

#include "files/organfile/organ_reader.hpp"
#include "files/organfile/pipe_table.hpp"
#include "files/organfile/section.hpp"
#include "files/organfile/toml_tree.hpp"

namespace calcant {
namespace {

using organ_toml::Faults;
using organ_toml::Section;
using toml_tree::Value;

std::vector<Fault> whole_file(std::string_view name, std::string message) {
  Fault f;
  f.file = name;
  f.message = std::move(message);
  return {f};
}

std::optional<std::vector<Fault>> too_large(std::string_view text, std::string_view name) {
  if (text.size() <= organ_file_limit) return std::nullopt;
  return whole_file(name, fmt::format("the file is larger than {} KiB, which no organ needs", organ_file_limit / 1024));
}

// Newer versions are refused before anything else is said about them.
std::optional<std::vector<Fault>> wrong_version(const toml_tree::Tree& tree, std::string_view text,
                                                std::string_view name) {
  for (const toml_tree::Entry& e : tree.root.table) {
    if (e.key != "version") continue;
    Faults faults{text, name};
    if (e.value.kind != Value::Kind::whole || e.value.whole < 1) {
      faults.add(e.value.place, fmt::format("\"version\" should be {}", organ_file_version));
    } else if (e.value.whole > organ_file_version) {
      faults.add(e.value.place,
                 fmt::format("this file is of version {}, and this Calcant reads up to version {}; read it "
                             "with a newer Calcant",
                             e.value.whole, organ_file_version));
      return faults.sorted();
    } else {
      return std::nullopt;
    }
    return faults.sorted();
  }
  return std::nullopt;
}

bool has_version(const toml_tree::Tree& tree) {
  for (const toml_tree::Entry& e : tree.root.table) {
    if (e.key == "version") return true;
  }
  return tree.names_lost;
}

void tell_syntax(const toml_tree::Tree& tree, Faults& faults) {
  for (const toml_tree::SyntaxFault& f : tree.faults) {
    const bool value = f.message.find("value type") != std::string::npos;
    faults.add(f.place,
               value ? "this line cannot be read: what stands after = should be a number, true, false, a text in "
                       "\"quotation marks\", a [list] or a { table }"
                     : "this line cannot be read: " + f.message);
  }
}

}  // namespace

tl::expected<OrganFile, std::vector<Fault>> read_organ(std::string_view text, std::string_view name,
                                                       const NamedText* pipes) {
  if (auto large = too_large(text, name)) return tl::unexpected(std::move(*large));
  const toml_tree::Tree tree = toml_tree::parse(text);
  if (auto wrong = wrong_version(tree, text, name)) return tl::unexpected(std::move(*wrong));
  Faults faults{text, name};
  tell_syntax(tree, faults);
  if (!has_version(tree))
    faults.add({1, 1}, fmt::format("the file does not say its version; write version = {} first", organ_file_version));
  organ_toml::OrganReader reader{tree, faults};
  reader.read();
  std::vector<Fault> all = faults.sorted();
  OrganFile out{std::move(reader.organ()), std::move(reader.notes()), reader.pipe_figures()};
  if (pipes != nullptr) {
    if (auto large = too_large(pipes->text, pipes->name)) {
      all.insert(all.end(), large->begin(), large->end());
    } else {
      Faults in_table{pipes->text, pipes->name};
      organ_toml::read_pipe_table(pipes->text, out.organ, in_table);
      const std::vector<Fault> more = in_table.sorted();
      all.insert(all.end(), more.begin(), more.end());
    }
  }
  if (!all.empty()) return tl::unexpected(std::move(all));
  for (const std::string& breach : breaches(out.organ)) {
    all.push_back(whole_file(name, breach).front());
  }
  if (!all.empty()) return tl::unexpected(std::move(all));
  return out;
}

tl::expected<Overlay, std::vector<Fault>> read_day(std::string_view text, std::string_view name) {
  if (auto large = too_large(text, name)) return tl::unexpected(std::move(*large));
  const toml_tree::Tree tree = toml_tree::parse(text);
  if (auto wrong = wrong_version(tree, text, name)) return tl::unexpected(std::move(*wrong));
  Faults faults{text, name};
  tell_syntax(tree, faults);
  Section root{faults, tree.root, "the file of the day", tree.names_lost};
  (void)root.required("version", "1");
  Overlay day;
  day.origin = name;
  day.day = root.text("date").value_or("");
  day.stops_out_of_use = root.texts("out_of_use").value_or(std::vector<std::string>{});
  if (const auto t = root.figure("celsius", {-20, 45, " degrees Celsius"})) {
    day.temperature =
        Sourced<Celsius>{Celsius{t->value}, t->source, t->half_width_95, t->date, t->basis, t->conditions};
  }
  const auto each = [&](std::string_view key, const auto& read) {
    const Value* v = root.value(key);
    if (v == nullptr) return;
    if (v->kind != Value::Kind::list) {
      faults.add(v->place, fmt::format("\"{0}\" should be a row of tables: write [[{0}]] over each", key));
      return;
    }
    for (const Value& item : v->list) {
      if (item.kind != Value::Kind::table) {
        faults.add(item.place, fmt::format("\"{0}\" should be a row of tables: write [[{0}]] over each", key));
        continue;
      }
      Section s{faults, item, fmt::format("this [[{}]]", key), tree.names_lost};
      read(s);
      s.finish();
    }
  };
  each("dead", [&](Section& s) {
    (void)s.required("rank", "\"sw-oboe\"");
    (void)s.required("pipe", "25");
    Overlay::DeadPipe d{s.text("rank").value_or(""), s.whole("pipe", 1, 127).value_or(1), s.text("note").value_or("")};
    day.dead.push_back(std::move(d));
  });
  each("figure", [&](Section& s) {
    (void)s.required("rank", "\"sw-oboe\"");
    const std::string rank = s.text("rank").value_or("");
    const auto pipe = s.whole("pipe", 1, 127);
    const auto level = s.figure(pipe ? "level_db" : "loudness_db", {-60, 60, " dB"});
    const auto cents = s.figure("cents", {-200, 200, " cents"});
    if (pipe && level) day.pipe_level.push_back({rank, *pipe, *level});
    if (pipe && cents) day.pipe_cents.push_back({rank, *pipe, *cents});
    if (!pipe && level) day.rank_loudness.push_back({rank, *level});
    if (!pipe && cents) {
      s.fault(s.place_of("cents"), "cents are of one pipe: say also pipe = 25, counted from the rank's lowest");
    } else if (!level && !cents) {
      s.fault(s.place(), "this [[figure]] says nothing; write loudness_db for a rank, level_db or cents for a pipe");
    }
  });
  root.finish();
  if (!faults.empty()) return tl::unexpected(faults.sorted());
  return day;
}

namespace {

// The text of a file, no more than the limit and a little; nullopt when it cannot be opened.
std::optional<std::string> text_of(const std::filesystem::path& path) {
  std::error_code failed;
  if (!std::filesystem::is_regular_file(path, failed)) return std::nullopt;
  std::ifstream in(path, std::ios::binary);
  if (!in) return std::nullopt;
  std::string text(organ_file_limit + 1, '\0');
  in.read(text.data(), static_cast<std::streamsize>(text.size()));
  text.resize(static_cast<std::size_t>(in.gcount()));
  if (text.substr(0, 3) == "\xEF\xBB\xBF") text.erase(0, 3);
  return text;
}

}  // namespace

tl::expected<OrganFolder, std::vector<Fault>> read_organ_folder(const std::filesystem::path& path) {
  std::error_code failed;
  const bool folder = std::filesystem::is_directory(path, failed);
  const std::filesystem::path file = folder ? path / "organ.toml" : path;
  const std::filesystem::path home = folder ? path : path.parent_path();
  const std::optional<std::string> text = text_of(file);
  if (!text) {
    return tl::unexpected(
        whole_file(path.string(), folder ? "this folder has no organ.toml; name an organ folder, or make "
                                           "one with \"calcant new\""
                                         : "there is no such organ folder or organ.toml"));
  }
  // The description is read once without the table of pipes to learn whether it names one.
  auto described = read_organ(*text, file.string());
  if (described && !described->pipe_figures.empty()) {
    const std::filesystem::path table = home / described->pipe_figures;
    std::optional<std::string> pipes = text_of(table);
    if (!pipes) {
      return tl::unexpected(whole_file(table.string(),
                                       "organ.toml names this file for its pipe_figures, but it cannot be "
                                       "read"));
    }
    const NamedText named{table.string(), std::move(*pipes)};
    described = read_organ(*text, file.string(), &named);
  }
  std::vector<Fault> faults;
  if (!described) faults = std::move(described.error());
  OrganFolder out;
  out.folder = home;
  const std::filesystem::path day_file = home / "day.toml";
  if (const auto day_text = text_of(day_file)) {
    auto day = read_day(*day_text, day_file.string());
    if (day) out.day = std::move(*day);
    else faults.insert(faults.end(), day.error().begin(), day.error().end());
  }
  if (!faults.empty()) return tl::unexpected(std::move(faults));
  out.organ = std::move(described->organ);
  out.notes = std::move(described->notes);
  return out;
}

}  // namespace calcant
