// SPDX-License-Identifier: GPL-3.0-or-later
#include "sound_server.h"

#include "support/catch.h"

#include "fourbeat/base/thread.h"

#include <spawn.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <QElapsedTimer>
#include <QFileInfo>
#include <QStandardPaths>
#include <QThread>
#include <algorithm>
#include <cmath>
#include <csignal>
#include <cstdlib>
#include <cstring>

extern char** environ;

namespace fourbeat::tests {

namespace {

constexpr int patience_ms = 10000;

}  // namespace

SoundServer* SoundServer::instance() {
  QString missing;
  for (const char* tool : {"pulseaudio", "pactl", "parec"}) {
    if (QStandardPaths::findExecutable(QLatin1String(tool)).isEmpty())
      missing = QLatin1String(tool);
  }
  if (!missing.isEmpty()) {
    const std::string why = missing.toStdString() + " is not installed";
    if (qgetenv("CI") == "true") FAIL(why);
    WARN("SKIPPED: " << why);
    return nullptr;
  }
  static SoundServer server;
  return &server;
}

SoundServer::SoundServer() {
  const QString folder = QString::fromStdString(folder_.path().string());
  address_ = QStringLiteral("unix:") + folder + QStringLiteral("/native");
  for (const char* name :
       {"HOME", "XDG_RUNTIME_DIR", "XDG_CONFIG_HOME", "PULSE_RUNTIME_PATH", "PULSE_STATE_PATH"}) {
    qputenv(name, folder.toUtf8());
  }
  daemon_.setChildProcessModifier([] { ::prctl(PR_SET_PDEATHSIG, SIGTERM); });
  daemon_.setProcessChannelMode(QProcess::ForwardedErrorChannel);
  daemon_.start(
      QStringLiteral("pulseaudio"),
      {QStringLiteral("-n"), QStringLiteral("--daemonize=no"), QStringLiteral("--use-pid-file=no"),
       QStringLiteral("--exit-idle-time=-1"), QStringLiteral("--realtime=yes"),
       QStringLiteral("--high-priority=yes"), QStringLiteral("--log-level=error"),
       QStringLiteral("--log-target=stderr"), QStringLiteral("-L"),
       QStringLiteral("module-native-protocol-unix auth-anonymous=1 socket=") + folder +
           QStringLiteral("/native")});
  if (!daemon_.waitForStarted(patience_ms)) FAIL("the sound server does not start");
  qputenv("PULSE_SERVER", address_.toUtf8());
  QElapsedTimer waiting;
  waiting.start();
  while (!QFileInfo::exists(folder + QStringLiteral("/native"))) {
    if (waiting.elapsed() > patience_ms) FAIL("the sound server does not answer");
    QThread::msleep(10);
  }
}

SoundServer::~SoundServer() {
  daemon_.terminate();
  daemon_.waitForFinished(patience_ms);
}

QByteArray SoundServer::run(const QStringList& arguments) {
  QProcess process;
  process.start(QStringLiteral("pactl"), arguments);
  if (!process.waitForFinished(patience_ms) || process.exitCode() != 0) {
    FAIL("pactl " << arguments.join(QLatin1Char(' ')).toStdString() << ": "
                  << process.readAllStandardError().toStdString());
  }
  return process.readAllStandardOutput();
}

int SoundServer::load(const QString& name, int rate_hz) {
  return run({QStringLiteral("load-module"), QStringLiteral("module-null-sink"),
              QStringLiteral("sink_name=") + name, QStringLiteral("format=float32le"),
              QStringLiteral("channels=2"), QStringLiteral("rate=%1").arg(rate_hz)})
      .trimmed()
      .toInt();
}

void SoundServer::unload(int number) {
  run({QStringLiteral("unload-module"), QString::number(number)});
}

void SoundServer::makeDefault(const QString& name) {
  run({QStringLiteral("set-default-sink"), name});
}

std::int64_t Monitor::now_ns() {
  return std::chrono::duration_cast<std::chrono::nanoseconds>(
             std::chrono::steady_clock::now().time_since_epoch())
      .count();
}

Monitor::Monitor(SoundServer& server, const QString& sink, int rate_hz, int latency_ms) {
  int ends[2];
  if (::pipe(ends) != 0) FAIL("no pipe");
  const std::vector<std::string> words = {"parec",
                                          "--server=" + server.address().toStdString(),
                                          "--device=" + sink.toStdString() + ".monitor",
                                          "--format=float32le",
                                          "--channels=1",
                                          "--rate=" + std::to_string(rate_hz),
                                          "--latency-msec=" + std::to_string(latency_ms),
                                          "--raw"};
  std::vector<char*> arguments;
  arguments.reserve(words.size() + 1);
  for (const std::string& word : words)
    arguments.push_back(const_cast<char*>(word.c_str()));
  arguments.push_back(nullptr);
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_adddup2(&actions, ends[1], STDOUT_FILENO);
  posix_spawn_file_actions_addclose(&actions, ends[0]);
  const int failed = posix_spawnp(&pid_, "parec", &actions, nullptr, arguments.data(), environ);
  posix_spawn_file_actions_destroy(&actions);
  ::close(ends[1]);
  pipe_ = ends[0];
  if (failed != 0) FAIL("parec does not start");
  thread_ = std::thread([this] { read(); });
  const std::int64_t until = now_ns() + std::int64_t{patience_ms} * 1'000'000;
  while (count() == 0) {
    if (now_ns() > until) FAIL("parec records nothing");
    QThread::msleep(5);
  }
}

Monitor::~Monitor() {
  ::kill(pid_, SIGTERM);
  ::waitpid(pid_, nullptr, 0);
  thread_.join();
  ::close(pipe_);
}

void Monitor::read() {
  std::vector<char> bytes(1 << 16);
  std::size_t kept = 0;
  for (;;) {
    const ssize_t got = ::read(pipe_, bytes.data() + kept, bytes.size() - kept);
    const std::int64_t at = now_ns();
    if (got <= 0) return;
    kept += static_cast<std::size_t>(got);
    const std::size_t whole = kept / sizeof(float);
    const std::lock_guard lock(mutex_);
    const std::size_t before = frames_.size();
    frames_.resize(before + whole);
    std::memcpy(frames_.data() + before, bytes.data(), whole * sizeof(float));
    std::memmove(bytes.data(), bytes.data() + whole * sizeof(float), kept - whole * sizeof(float));
    kept -= whole * sizeof(float);
    chunks_.push_back({frames_.size(), at});
  }
}

std::vector<float> Monitor::frames() const {
  const std::lock_guard lock(mutex_);
  return frames_;
}

std::size_t Monitor::count() const {
  const std::lock_guard lock(mutex_);
  return frames_.size();
}

std::int64_t Monitor::arrived_ns(std::size_t frame) const {
  const std::lock_guard lock(mutex_);
  const auto chunk = std::partition_point(chunks_.begin(), chunks_.end(),
                                          [frame](const Chunk& one) { return one.end <= frame; });
  return chunk == chunks_.end() ? -1 : chunk->at_ns;
}

std::int64_t Monitor::first_over(std::size_t from, float level) const {
  const std::lock_guard lock(mutex_);
  for (std::size_t i = from; i < frames_.size(); ++i) {
    if (std::abs(frames_[i]) > level) return static_cast<std::int64_t>(i);
  }
  return -1;
}

Yardstick::Yardstick() {
  for (std::thread& thread : threads_)
    thread = std::thread([this] { run(); });
}

Yardstick::~Yardstick() {
  ended_.store(true);
  for (std::thread& thread : threads_)
    thread.join();
}

void Yardstick::run() {
  static_cast<void>(hurry_this_thread());
  constexpr std::chrono::milliseconds rest(3);
  while (!ended_.load()) {
    const auto before = std::chrono::steady_clock::now();
    std::this_thread::sleep_for(rest);
    const double late_ms =
        std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - before - rest)
            .count();
    if (late_ms > longest_ms_.load()) longest_ms_.store(late_ms);
    if (late_ms >= 10.0) stalls_.fetch_add(1);
  }
}

}  // namespace fourbeat::tests
