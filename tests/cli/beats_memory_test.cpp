// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/audio_files.h"
#include "support/catch.h"
#include "support/temp_folder.h"

#include <fcntl.h>
#include <spawn.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

using namespace fourbeat::tests;

// Sanitizers keep what is freed.
#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)

namespace {

constexpr std::uint64_t frames = 60ULL * 15 * 48000;

/// A WAV of 15 minutes that takes no room on the disk: a header, a hole, a loud last frame.
void write_hole(const std::filesystem::path& path) {
  std::string head = "RIFF";
  little(head, 36 + 2 * frames, 4);
  head += "WAVEfmt ";
  little(head, 16, 4);
  little(head, 1, 2);
  little(head, 1, 2);
  little(head, 48000, 4);
  little(head, 96000, 4);
  little(head, 2, 2);
  little(head, 16, 2);
  head += "data";
  little(head, 2 * frames, 4);
  put(path, head);
  std::filesystem::resize_file(path, 44 + 2 * frames);
  std::fstream stream(path, std::ios::binary | std::ios::in | std::ios::out);
  stream.seekp(-2, std::ios::end);
  stream.write("\0\x40", 2);
  REQUIRE(stream.good());
}

/// The most memory, in bytes, that the command held at once on `fourbeat beats FILE`.
std::uint64_t held_by_beats(const std::filesystem::path& file) {
  std::string command = std::getenv("FOURBEAT_COMMAND");
  std::string word = "beats";
  std::string name = file.string();
  const std::array<char*, 4> arguments = {command.data(), word.data(), name.data(), nullptr};
  posix_spawn_file_actions_t quiet{};
  REQUIRE(posix_spawn_file_actions_init(&quiet) == 0);
  REQUIRE(posix_spawn_file_actions_addopen(&quiet, STDOUT_FILENO, "/dev/null", O_WRONLY, 0) == 0);
  pid_t child = 0;
  REQUIRE(posix_spawn(&child, command.c_str(), &quiet, nullptr, arguments.data(), environ) == 0);
  posix_spawn_file_actions_destroy(&quiet);
  int status = 0;
  struct rusage used {};
  REQUIRE(::wait4(child, &status, 0, &used) == child);
  REQUIRE(WIFEXITED(status));
  REQUIRE(WEXITSTATUS(status) == 0);
  return static_cast<std::uint64_t>(used.ru_maxrss) * 1024;
}

}  // namespace

TEST_CASE("command: beats hold far less than the take", "[cli]") {
  const TempFolder folder;
  write_hole(folder / "hole.wav");
  const std::uint64_t held = held_by_beats(folder / "hole.wav");
  INFO(held / 1'000'000 << " MB");
  CHECK(held < sizeof(float) * frames * 2 / 3);
}

#endif
