/// Results read back: what is damaged is told with its code and its place, whatever it is.

#include "tileflux/report/result_files.h"

#include <gmock/gmock.h>

#include <random>

#include "sample_results.h"
#include "support/temporary_directory.h"
#include "tileflux/base/errors.h"
#include "tileflux/results/digest.h"
#include "tileflux/results/read_back.h"
#include "tileflux/results/series.h"

namespace tileflux::report {
namespace result_files_test {

using ::testing::HasSubstr;
using tileflux::test::read_file;
using tileflux::test::TemporaryDirectory;
using tileflux::test::write_file;

/// What is said of a result; internal where nothing is wrong.
Diagnostic refusal_of(const std::function<void()>& reading) {
  try {
    reading();
  } catch (const Error& error) {
    return error.diagnostics().front();
  }
  Diagnostic none;
  none.message = "nothing was wrong";
  return none;
}

Diagnostic refusal_of_text(const std::string& text) {
  return refusal_of([&] { story_of({result_of_text(text, "balance.json")}); });
}

Diagnostic refusal_of_path(const std::string& path) {
  return refusal_of([&] { story_of(read_results({path})); });
}

/// A directory with a run and its series: `cells` warms to a peak in the middle of a row that is no round one.
void write_run(const TemporaryDirectory& directory, long long rows,
               const std::vector<std::string>& parts = {"cells", "bench"}) {
  results::SeriesWriter series(results::OutputDirectory(directory.path()),
                               {"A tile", parts, {{"light_out_W", "W", "light"}, {"sun_seen", "1", "Sun"}}, "series"});
  for (long long row = 0; row < rows; ++row) {
    const double time_s = 1000.0 * static_cast<double>(row) / static_cast<double>(rows - 1);
    std::vector<double> temperatures_K(parts.size(), 300.0);
    temperatures_K[0] = row == rows * 7 / 10 + 1 ? 351.0 : 300.0 + 0.03 * time_s;
    const double scalars[] = {time_s < 500.0 ? 90.0 : 0.0, time_s >= 200.0 && time_s < 300.0 ? 0.0 : 1.0};
    series.append(time_s, temperatures_K, scalars);
  }
  series.close();
  write_file(directory / "run.json", results::sealed(test::sample_run().dump(), {directory / "series.nc"}));
}

TEST(ResultFiles, AreFoundByFileAndByDirectory) {
  const TemporaryDirectory directory;
  write_file(directory / "balance.json", results::sealed(test::sample_balance().dump()));
  write_run(directory, 101);
  const std::vector<Result> all = read_results({directory.path().string()});
  ASSERT_EQ(all.size(), 2u);
  EXPECT_EQ(all[0].verb, "balance");
  EXPECT_EQ(all[1].verb, "run");
  EXPECT_EQ(read_results({(directory / "run.json").string()}).front().verb, "run");
}

TEST(ResultFiles, ThatAreDamagedAreRefusedWithTheirCode) {
  const std::string sound = test::sample_balance().dump();
  EXPECT_EQ(refusal_of_text(sound).code, Code::internal) << "the sound one tells a story";
  struct Bad {
    std::string text;
    Code code;
    const char* says;
  };
  const auto changed = [](const char* pointer, const test::SampleJson& value) {
    test::SampleJson json = test::sample_balance();
    json[test::SampleJson::json_pointer(pointer)] = value;
    return json.dump();
  };
  const auto without = [](const char* key) {
    test::SampleJson json = test::sample_balance();
    json.erase(key);
    return json.dump();
  };
  const Bad all[] = {
      {"", Code::result_damaged, "ends after 0 bytes"},
      {"tileflux: 1\n", Code::result_damaged, "no JSON text"},
      {sound.substr(0, sound.size() / 2), Code::result_damaged, "no complete JSON text"},
      {"[1, 2]", Code::result_damaged, "a JSON object, found a list"},
      {"{}", Code::result_damaged, "by which verb"},
      {R"({"error": {"code": "limit-broken"}})", Code::result_damaged, "an error and no result: limit-broken"},
      {R"({"verb": "check"})", Code::choice_unknown, "of the verb 'check', only of balance"},
      {R"({"verb": 7})", Code::wrong_kind, "'verb' should be a text, found a number"},
      {changed("/usable_laser_power_W", 1e300).replace(0, 1, R"({"more": 1e999,)"), Code::result_damaged, "too large"},
      {without("beam_off"), Code::key_missing, "lacks 'beam_off'"},
      {changed("/beam_on/temperature_K/cells", "hot"), Code::wrong_kind,
       "'beam_on.temperature_K.cells' should be a number, found a text"},
      {changed("/beam_on/temperature_K", {1, 2}), Code::wrong_kind, "an object, found a list"},
      {changed("/beam_on/margins/0/kind", "colour"), Code::choice_unknown, "'colour' is no kind of limit"},
      {changed("/beam_on/power_W/light_out", 91.0), Code::ledger_open, "do not add up"},
      {std::string(200, '['), Code::text_too_large, "nested deeper"},
  };
  for (const Bad& bad : all) {
    const Diagnostic told = refusal_of_text(bad.text);
    EXPECT_EQ(told.code, bad.code) << bad.says << ": " << told.message;
    EXPECT_THAT(told.message, HasSubstr(bad.says));
    EXPECT_EQ(told.place.file, "balance.json") << bad.says;
  }
}

TEST(ResultFiles, WithTooManyKeysAreRefusedBeforeTheyTakeForever) {
  std::string text = "{\"verb\": \"balance\"";
  for (int i = 0; i < 40'000; ++i) text += ",\"k" + std::to_string(i) + "\":0";
  EXPECT_EQ(refusal_of_text(text + "}").code, Code::text_too_large);
}

TEST(ResultFiles, CutAnywhereOrWithAByteChangedNeverEndTheProgram) {
  const std::string sound = test::sample_balance().dump();
  std::mt19937 random(1);
  for (int i = 0; i < 300; ++i) {
    std::string text = sound;
    if (i % 3 == 0)
      text.resize(random() % text.size());
    else
      text[random() % text.size()] = static_cast<char>(random() % 256);
    EXPECT_NO_FATAL_FAILURE(refusal_of_text(text)) << i;
  }
}

TEST(ResultFiles, ThatAreNotThereAreNamed) {
  const TemporaryDirectory directory;
  EXPECT_EQ(refusal_of_path((directory / "none.json").string()).code, Code::file_unreadable);
  const Diagnostic empty = refusal_of_path(directory.path().string());
  EXPECT_EQ(empty.code, Code::file_unreadable);
  EXPECT_THAT(empty.message, HasSubstr("holds no result of balance"));
  EXPECT_EQ(refusal_of_path("/dev/null").code, Code::file_unreadable);
}

TEST(ResultFiles, WithASeriesThatDoesNotFitAreRefused) {
  const TemporaryDirectory of_another, too_long, cut, no_series;
  write_run(of_another, 11, {"cells", "lid"});
  EXPECT_EQ(refusal_of_path(of_another.path().string()).code, Code::table_shape);
  write_run(too_long, 11);
  test::SampleJson shorter = test::sample_run();
  shorter["end_s"] = 900.0;
  write_file(too_long / "run.json", results::sealed(shorter.dump(), {too_long / "series.nc"}));
  EXPECT_THAT(refusal_of_path(too_long.path().string()).message, HasSubstr("goes on to 1000 s"));
  write_run(cut, 11);
  const std::string whole = read_file(cut / "series.nc");
  write_file(cut / "series.nc", whole.substr(0, whole.size() / 2));
  EXPECT_EQ(refusal_of_path(cut.path().string()).code, Code::result_damaged);
  write_run(no_series, 11);
  write_file(no_series / "series.nc", "no netCDF");
  EXPECT_EQ(refusal_of_path(no_series.path().string()).code, Code::result_damaged);
}

TEST(ResultFiles, ChangedInAnyByteAreRefused) {
  const TemporaryDirectory directory;
  write_run(directory, 11);
  std::mt19937 random(1);
  for (const char* name : {"run.json", "series.nc"}) {
    const std::string sound = read_file(directory / name);
    for (int i = 0; i < 100; ++i) {
      std::string changed = sound;
      changed[random() % changed.size()] ^= static_cast<char>(1u << random() % 8);
      write_file(directory / name, changed);
      EXPECT_NE(refusal_of_path(directory.path().string()).code, Code::internal) << name << i;
    }
    write_file(directory / name, sound);
    EXPECT_EQ(refusal_of_path(directory.path().string()).code, Code::internal) << "the sound one tells a story";
  }
}

TEST(ResultFiles, OfOneRunAndTheSeriesOfAnotherAreRefused) {
  const TemporaryDirectory one, other;
  write_run(one, 11);
  write_run(other, 12);
  std::filesystem::copy_file(one / "series.nc", other / "series.nc", std::filesystem::copy_options::overwrite_existing);
  const Diagnostic told = refusal_of_path(other.path().string());
  EXPECT_EQ(told.code, Code::result_damaged);
  EXPECT_THAT(told.message, HasSubstr("not the file that was written with"));
  write_file(other / "run.json", results::sealed(test::sample_run().dump()));
  EXPECT_THAT(refusal_of_path(other.path().string()).message, HasSubstr("was not written with"));
}

TEST(ResultFiles, HoldTheSeriesAsItWasWritten) {
  const TemporaryDirectory directory;
  write_run(directory, 101);
  const results::SeriesTable series = results::read_series(directory / "series.nc");
  EXPECT_EQ(series.parts, (std::vector<std::string>{"cells", "bench"}));
  ASSERT_EQ(series.times_s.size(), 101u);
  EXPECT_DOUBLE_EQ(series.times_s[50], 500.0);
  EXPECT_DOUBLE_EQ(series.temperatures_K[2 * 71], 351.0);
  EXPECT_EQ(series.scalars[0].name, "light_out_W");
  EXPECT_DOUBLE_EQ(series.scalars[0].values[10], 90.0);
}

TEST(ResultFiles, KeepTheExtremesOfASeriesThatIsTooLongToBeKept) {
  const TemporaryDirectory directory;
  constexpr long long rows = 5003, kept = 100;
  write_run(directory, rows);
  const results::SeriesTable series = results::read_series(directory / "series.nc", kept);
  EXPECT_EQ(series.rows_in_file, rows);
  EXPECT_LE(series.times_s.size(), static_cast<std::size_t>(kept) + 2 * 4 + 1) << "four columns with two extremes each";
  double hottest_K = 0.0;
  for (std::size_t row = 0; row < series.times_s.size(); ++row)
    hottest_K = std::max(hottest_K, series.temperatures_K[2 * row]);
  EXPECT_DOUBLE_EQ(hottest_K, 351.0) << "one single row of 5003";
  EXPECT_DOUBLE_EQ(series.times_s.back(), 1000.0);
}

TEST(Digest, SealsAnObjectInText) {
  const std::string text = results::sealed("{\n  \"verb\": \"run\"\n}\n");
  EXPECT_THAT(text, HasSubstr("{\n  \"verb\": \"run\",\n  \"seal\": \""));
  EXPECT_TRUE(results::seal_holds(text));
  EXPECT_EQ(nlohmann::json::parse(text).at("verb"), "run");
  std::string changed = text;
  changed[text.find("run")] = 'f';
  for (const std::string& other : {changed, text + ' ', text.substr(0, text.size() - 1), std::string("{}"), std::string()})
    EXPECT_FALSE(results::seal_holds(other)) << other;
}

TEST(Digest, IsThatOfTheStandard) {
  // FIPS 180-4 examples: "abc" and the empty text.
  EXPECT_EQ(results::sha256_of("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(results::sha256_of(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  const TemporaryDirectory directory;
  write_file(directory / "abc", "abc");
  EXPECT_EQ(results::sha256_of_file(directory / "abc"), results::sha256_of("abc"));
  EXPECT_THROW(results::sha256_of_file(directory / "absent"), Error);
}

}  // namespace result_files_test
}  // namespace tileflux::report
