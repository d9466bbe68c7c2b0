// SPDX-License-Identifier: GPL-3.0-or-later
#include "support.h"

#include "fourbeat/base/random.h"
#include "fourbeat/store/journal.h"
#include "fourbeat/store/project_file.h"

#include <QProcess>
#include <QThread>
#include <csignal>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

void killAtRandom(int times) {
  const SmallProject small;
  const Result<model::Project> before = store::load_project(small.path());
  REQUIRE(before);
  const std::string saved = store::project_text(*before);
  Random random(7);
  int edits = 0;
  for (int round = 0; round < times; ++round) {
    QProcess script;
    script.setProcessChannelMode(QProcess::ForwardedErrorChannel);
    script.start(QStringLiteral(FOURBEAT_EDIT_SCRIPT),
                 {QString::fromStdString(small.path().string())});
    REQUIRE(script.waitForReadyRead(30'000));
    QThread::usleep(static_cast<unsigned long>(random.uniform(0.0, 120'000.0)));
    REQUIRE(::kill(static_cast<pid_t>(script.processId()), SIGKILL) == 0);
    script.waitForFinished();
    const QList<QByteArray> lines = script.readAllStandardOutput().trimmed().split('\n');
    const int last = lines.last().toInt();
    REQUIRE(last >= 1);
    edits += last;
    const Result<store::Journal> journal = store::read_journal(store::journal_path(small.path()));
    if (last == 1 && !journal) continue;  // the one edit there was may be the one that is lost
    if (!journal) FAIL(to_line(journal.error()));
    const int kept = std::stoi(journal->project.title.substr(5));
    CAPTURE(round, last, kept);
    CHECK(kept >= last - 1);
    const Result<model::Project> after = store::load_project(small.path());
    REQUIRE(after);
    CHECK(store::project_text(*after) == saved);
    REQUIRE(store::remove_journal(small.path()));
  }
  CHECK(edits > 3 * times);
}

}  // namespace

TEST_CASE(
    "crash: killed at random moments, all edits but at most the last are offered back and the "
    "saved file is whole",
    "[ui]") {
  killAtRandom(10);
}

TEST_CASE("crash: the same killed at 50 moments", "[ui][deep]") {
  killAtRandom(50);
}
