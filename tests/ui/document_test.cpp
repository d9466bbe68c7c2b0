// SPDX-License-Identifier: GPL-3.0-or-later
#include "Document.h"

#include "support.h"

#include "fourbeat/store/journal.h"
#include "fourbeat/store/project_file.h"
#include "fourbeat/store/takes.h"

using namespace fourbeat;
using namespace fourbeat::tests;

TEST_CASE("document: random edits, all undone, all redone, give the same project", "[ui]") {
  const SmallProject small;
  const auto document = small.open();
  const std::string before = undoableText(document->project());
  constexpr quint64 steps = 200;
  std::vector<std::string> states{before};
  for (quint64 seed = 0; seed < steps; ++seed) {
    REQUIRE(document->perform(QStringLiteral("step"), {randomEdit(document->project(), seed)}));
    states.push_back(undoableText(document->project()));
  }
  for (std::size_t i = steps; i > 0; --i) {
    document->undoStack().undo();
    REQUIRE(undoableText(document->project()) == states[i - 1]);
  }
  CHECK_FALSE(document->isModified());
  for (std::size_t i = 1; i <= steps; ++i) {
    document->undoStack().redo();
    REQUIRE(undoableText(document->project()) == states[i]);
  }
  CHECK(document->isModified());
}

TEST_CASE("document: the moves of one drag are one step, another drag is another", "[ui]") {
  const SmallProject small;
  const auto document = small.open();
  const Id<model::Segment> segment = document->project().segments[3].id;
  const std::string before = undoableText(document->project());
  const auto drag = [&](std::int64_t to) {
    REQUIRE(document->perform(QStringLiteral("Trim"),
                              {model::TrimSegment{segment, frame_range(12'000, to)}},
                              QStringLiteral("trim")));
  };
  for (std::int64_t end = 150'000; end < 150'040; ++end)
    drag(end);
  document->endMerge();
  const std::string between = undoableText(document->project());
  drag(160'000);
  drag(160'001);
  CHECK(document->undoStack().count() == 2);
  const std::string after = undoableText(document->project());
  document->undoStack().undo();
  CHECK(undoableText(document->project()) == between);
  document->undoStack().undo();
  CHECK(undoableText(document->project()) == before);
  document->undoStack().redo();
  document->undoStack().redo();
  CHECK(undoableText(document->project()) == after);
}

TEST_CASE("document: an edit that is refused changes nothing and is no step", "[ui]") {
  const SmallProject small;
  const auto document = small.open();
  const std::string before = undoableText(document->project());
  const Status refused = document->perform(
      QStringLiteral("bad"),
      {model::SetTitle{"half done"}, model::SetSegmentGain{Id<model::Segment>(9'999), 0.0}});
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == ErrorCode::not_found);
  CHECK(undoableText(document->project()) == before);
  CHECK(document->undoStack().count() == 0);
}

TEST_CASE("document: the journal holds the newest change and the saved file stays as it was",
          "[ui]") {
  const SmallProject small;
  const std::string saved = store::project_text(*store::load_project(small.path()));
  auto document = small.open();
  REQUIRE(document->perform(QStringLiteral("t"), {model::SetTitle{"Not saved"}}));
  document->flushJournal();
  const Result<store::Journal> journal = store::read_journal(store::journal_path(small.path()));
  REQUIRE(journal);
  CHECK(journal->project.title == "Not saved");
  CHECK(std::filesystem::equivalent(journal->project_path, small.path()));
  CHECK(store::project_text(*store::load_project(small.path())) == saved);
  REQUIRE(document->save());
  CHECK_FALSE(std::filesystem::exists(store::journal_path(small.path())));
  CHECK(store::load_project(small.path())->title == "Not saved");
}

TEST_CASE("document: what was recovered is unsaved until it is saved", "[ui]") {
  const SmallProject small;
  model::Project newer = small.project();
  newer.title = "Recovered";
  {
    auto document = ui::Document::open(small.path(), &newer);
    REQUIRE(document);
    CHECK((*document)->project().title == "Recovered");
    CHECK((*document)->isModified());
    CHECK(store::load_project(small.path())->title == small.project().title);
    REQUIRE((*document)->save());
    CHECK_FALSE((*document)->isModified());
  }
  CHECK(store::load_project(small.path())->title == "Recovered");
}

TEST_CASE("document: a second opening of one project is refused", "[ui]") {
  const SmallProject small;
  const auto document = small.open();
  const auto second = ui::Document::open(small.path(), nullptr);
  REQUIRE_FALSE(second);
  CHECK(second.error().code == ErrorCode::locked);
}

TEST_CASE("document: saved as another file in another folder, the takes are still found", "[ui]") {
  const SmallProject small;
  const TempFolder elsewhere;
  auto document = small.open();
  REQUIRE(document->saveAs(elsewhere / "moved.fourbeat"));
  JobControl job;
  const auto takes = store::look_at_takes(document->project(), document->folder(), false, job);
  REQUIRE(takes);
  for (const store::TakeStatus& take : *takes) {
    CAPTURE(take.path, take.detail);
    CHECK(std::filesystem::exists(take.path));
  }
  CHECK(ui::Document::open(small.path(), nullptr));
}
