#include "jobs/text_file.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <system_error>

namespace calcant {

Result<std::string> read_text_file(const std::filesystem::path& path, std::size_t limit) {
  std::error_code fault;
  if (!std::filesystem::exists(path, fault)) return fail("There is no such file.", path.string());
  if (std::filesystem::is_directory(path, fault)) return fail("This is a folder; a file is wanted.", path.string());
  std::ifstream in(path, std::ios::binary);
  if (!in) return fail("The file cannot be opened for reading.", path.string());
  std::string text(limit + 1, '\0');
  in.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (in.bad()) return fail("The file cannot be read to its end.", path.string());
  text.resize(static_cast<std::size_t>(in.gcount()));
  if (text.size() > limit) return fail(fmt::format("The file is larger than {} kB.", limit / 1024), path.string());
  return text;
}

Result<void> write_text_file(const std::filesystem::path& path, std::string_view text) {
  const auto cannot = [&](const char* what) {
    return fail(fmt::format("{}: {}.", what, std::strerror(errno)), path.string());
  };
  std::string part = path.string() + ".XXXXXX";
  const int file = ::mkstemp(part.data());
  if (file < 0) return cannot("The file cannot be written");
  std::size_t done = 0;
  while (done < text.size()) {
    const auto n = ::write(file, text.data() + done, text.size() - done);
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0) {
      ::close(file);
      ::unlink(part.c_str());
      return cannot("The file cannot be written to its end");
    }
    done += static_cast<std::size_t>(n);
  }
  // mkstemp makes a file for its owner alone; ours are for whoever the user's umask lets read.
  const mode_t mask = ::umask(0);
  ::umask(mask);
  const bool kept = ::fchmod(file, 0666U & ~mask) == 0 && ::fsync(file) == 0;
  if (::close(file) != 0 || !kept || ::rename(part.c_str(), path.c_str()) != 0) {
    ::unlink(part.c_str());
    return cannot("The file cannot be put in its place");
  }
  return {};
}

Result<void> make_folder(const std::filesystem::path& path) {
  std::error_code fault;
  std::filesystem::create_directories(path, fault);
  if (fault || !std::filesystem::is_directory(path)) {
    return fail(fmt::format("The folder cannot be made: {}.", fault ? fault.message() : "a file of that name is there"),
                path.string());
  }
  return {};
}

}  // namespace calcant
