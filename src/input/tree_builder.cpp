#include "input/tree_builder.h"

#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/parser.h>

#include <algorithm>
#include <array>
#include <istream>
#include <iterator>
#include <streambuf>
#include <string>
#include <tuple>
#include <unordered_map>
#include <utility>

#include "input/text_scan.h"

namespace tileflux::input {

namespace {

/// Leaves the parser: the finding that explains why is recorded.
struct Stop {};

/// A stream over the text without a copy of it.
class ViewBuffer : public std::streambuf {
 public:
  explicit ViewBuffer(std::string_view text) {
    char* begin = const_cast<char*>(text.data());  // only read through the get area
    setg(begin, begin, begin + text.size());
  }
};

/// A map or sequence that is not closed yet.
struct Frame {
  Node node;
  std::string path;
  std::unordered_map<std::string, int> key_lines;  ///< keys seen, also those that are left out
  bool has_key = false;                            ///< a map waits for the value of `entry`
  bool drop = false;                               ///< the entry will not be kept
  Node::Entry entry;
};

class TreeBuilder : public YAML::EventHandler {
 public:
  TreeBuilder(std::string_view text, Document& document, std::vector<Diagnostic>& findings, const Bounds& bounds)
      : text_(text), document_(document), findings_(findings), bounds_(bounds) {}

  void OnDocumentStart(const YAML::Mark&) override {}
  void OnDocumentEnd() override {}

  void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    begin_node(mark, {}, anchor);
    Node node;
    std::tie(node.line, node.column) = place_of_null(mark);
    if (is_key_next()) {
      take_key_that_is_no_word(node.line, node.column, "a key is missing before ':'");
    } else {
      attach(std::move(node));
    }
  }

  void OnAlias(const YAML::Mark& mark, YAML::anchor_t) override {
    begin_node(mark, {}, YAML::NullAnchor);
    Node node = node_at(mark, Node::Kind::null);
    report(Code::yaml_anchor, node.line, node.column, "an alias (*) stands here: write the value out");
    if (is_key_next()) {
      take_key("*", node.line, node.column, true);
    } else {
      attach(std::move(node));
    }
  }

  void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                const std::string& value) override {
    begin_node(mark, tag, anchor);
    Node node = node_at(mark, Node::Kind::scalar);
    if (is_quote_open(mark)) {
      report(Code::yaml_syntax, node.line, node.column, "the quoted text is not closed");
      throw Stop{};
    }
    bool fit = true;
    if (value.size() > bounds_.scalar_bytes) {
      report(Code::text_too_large, node.line, node.column,
             "a value has " + std::to_string(value.size()) + " bytes; at most " + std::to_string(bounds_.scalar_bytes) +
                 " are read");
      fit = false;
    } else if (const std::string forbidden = forbidden_character(value); !forbidden.empty()) {
      report(Code::text_encoding, node.line, node.column, forbidden);
      fit = false;
    }
    if (is_key_next()) {
      take_key(fit ? value : std::string("?"), node.line, node.column, !fit);
      return;
    }
    if (fit) node.text = value;
    if (!fit) document_complete_ = false;
    attach(std::move(node));
  }

  void OnSequenceStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                       YAML::EmitterStyle::value) override {
    open(mark, tag, anchor, Node::Kind::sequence);
  }
  void OnMapStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                  YAML::EmitterStyle::value) override {
    open(mark, tag, anchor, Node::Kind::map);
  }
  void OnSequenceEnd() override { close(); }
  void OnMapEnd() override { close(); }

  Node take_root() { return std::move(root_); }
  bool complete() const { return document_complete_; }

  void report(Code code, int line, int column, std::string message) {
    findings_.push_back(document_.finding(code, line, column, path(), std::move(message)));
    if (++reported_ >= most_findings) throw Stop{};
  }

 private:
  static Node node_at(const YAML::Mark& mark, Node::Kind kind) {
    Node node;
    node.kind = kind;
    node.line = mark.line + 1;
    node.column = mark.column + 1;
    return node;
  }

  std::string path() const {
    if (frames_.empty()) return {};
    const Frame& frame = frames_.back();
    if (frame.node.kind == Node::Kind::sequence)
      return frame.path + '[' + std::to_string(frame.node.items.size()) + ']';
    if (!frame.has_key || frame.drop) return frame.path;
    return frame.path.empty() ? frame.entry.key : frame.path + '.' + frame.entry.key;
  }

  /// Whether the scalar is a quoted one that lacks its closing quote: the parser takes the end of the text for it.
  bool is_quote_open(const YAML::Mark& mark) const {
    auto i = static_cast<std::size_t>(mark.pos);
    if (mark.pos < 0 || i >= text_.size() || (text_[i] != '"' && text_[i] != '\'')) return false;
    const char quote = text_[i];
    for (++i; i < text_.size(); ++i) {
      const bool doubled = quote == '\'' && text_.substr(i, 2) == "''";
      if (doubled || (quote == '"' && text_[i] == '\\')) {
        ++i;
      } else if (text_[i] == quote) {
        return false;
      }
    }
    return true;
  }

  /// A byte of the text, NUL outside of it.
  char byte_at(int line, int column) const {
    if (line < 1 || static_cast<std::size_t>(line) > document_.lines.size() || column < 1) return '\0';
    const std::string& text = document_.lines[static_cast<std::size_t>(line) - 1];
    return static_cast<std::size_t>(column) <= text.size() ? text[static_cast<std::size_t>(column) - 1] : '\0';
  }

  /// What holds for every node: counted, neither tagged nor anchored.
  void begin_node(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor) {
    const int line = mark.line + 1;
    const int column = mark.column + 1;
    if (++nodes_ > bounds_.nodes) {
      report(Code::yaml_too_many_nodes, line, column,
             "the file holds more than " + std::to_string(bounds_.nodes) + " entries");
      throw Stop{};
    }
    const char first = byte_at(line, column);
    if (anchor != YAML::NullAnchor)
      report(Code::yaml_anchor, line, column, "an anchor (&) stands here: write the value out where it is needed");
    // The parser gives ! as the tag of quoted text, so a lone ! shows only in the text.
    const bool tagged = !tag.empty() && tag != "?" && tag != "!";
    const bool twice = !findings_.empty() && findings_.back().code == Code::yaml_tag &&
                       findings_.back().place.line == line && findings_.back().place.column == column;
    if ((tagged || first == '!') && !twice) report(Code::yaml_tag, line, column, "a tag (!) stands here: remove it");
  }

  bool is_key_next() const {
    return !frames_.empty() && frames_.back().node.kind == Node::Kind::map && !frames_.back().has_key;
  }

  void take_key(std::string key, int line, int column, bool drop) {
    Frame& frame = frames_.back();
    if (!drop && key == "<<") {
      report(Code::yaml_anchor, line, column, "a merge key (<<) stands here: write the entries out");
      drop = true;
    }
    if (!drop) {
      const auto [seen, first] = frame.key_lines.try_emplace(key, line);
      if (!first) {
        report(Code::key_duplicate, line, column,
               "the key '" + key + "' stands twice in this map, first in line " + std::to_string(seen->second));
        drop = true;
      }
    }
    frame.entry = {std::move(key), line, column, {}};
    frame.has_key = true;
    frame.drop = drop;
  }

  void take_key_that_is_no_word(int line, int column, std::string message) {
    report(Code::key_not_text, line, column, std::move(message));
    take_key("?", line, column, true);
  }

  void open(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor, Node::Kind kind) {
    begin_node(mark, tag, anchor);
    Frame frame;
    frame.node = node_at(mark, kind);
    if (static_cast<int>(frames_.size()) >= bounds_.depth) {
      report(Code::yaml_too_deep, frame.node.line, frame.node.column,
             "maps and lists are nested more than " + std::to_string(bounds_.depth) + " deep");
      throw Stop{};
    }
    if (is_key_next())
      report(Code::key_not_text, frame.node.line, frame.node.column, "a key is a word, found a list or a map");
    frame.path = path();
    frames_.push_back(std::move(frame));
  }

  void close() {
    Node node = std::move(frames_.back().node);
    frames_.pop_back();
    if (is_key_next()) {
      take_key("?", node.line, node.column, true);
    } else {
      attach(std::move(node));
    }
  }

  void attach(Node node) {
    if (frames_.empty()) {
      root_ = std::move(node);
      return;
    }
    Frame& frame = frames_.back();
    if (frame.node.kind == Node::Kind::sequence) {
      frame.node.items.push_back(std::move(node));
      return;
    }
    frame.entry.value = std::move(node);
    if (!frame.drop) frame.node.entries.push_back(std::move(frame.entry));
    frame.has_key = false;
    frame.drop = false;
  }

  /// The parser marks a value that is not there by what follows it, often on another line; a person looks at the key or
  /// at the dash.
  std::pair<int, int> place_of_null(const YAML::Mark& mark) const {
    const int line = mark.line + 1;
    const int column = mark.column + 1;
    const char first = byte_at(line, column);
    if (first == '~' || first == 'n' || first == 'N' || frames_.empty()) {
      if (is_null_word(line, column) || frames_.empty()) return {line, column};
    }
    const Frame& frame = frames_.back();
    if (frame.node.kind == Node::Kind::map) {
      return frame.has_key ? std::pair{frame.entry.line, frame.entry.column} : std::pair{line, column};
    }
    if (byte_at(frame.node.line, frame.node.column) == '[') return {line, column};
    return place_of_dash(line, column, frame.node.line);
  }

  bool is_null_word(int line, int column) const {
    if (line < 1 || static_cast<std::size_t>(line) > document_.lines.size()) return false;
    const std::string_view rest = std::string_view(document_.lines[static_cast<std::size_t>(line) - 1])
                                      .substr(static_cast<std::size_t>(column) - 1);
    for (const std::string_view word : {"~", "null", "Null", "NULL"}) {
      if (!rest.starts_with(word)) continue;
      const std::string_view after = rest.substr(word.size());
      if (after.empty() || after.find_first_of(" \t,]}#:") == 0) return true;
    }
    return false;
  }

  /// The last line before the mark that holds a dash and nothing else but a comment.
  std::pair<int, int> place_of_dash(int line, int column, int first_line) const {
    constexpr int farthest = 100;  // lines; a bound, so that many such items take no quadratic time
    for (int i = std::min(line, static_cast<int>(document_.lines.size())); i >= std::max(first_line, line - farthest);
         --i) {
      const std::string_view text = document_.lines[static_cast<std::size_t>(i) - 1];
      const std::size_t remark = std::min(text.find(" #"), text.find("\t#"));
      const std::size_t dash = text.find_last_not_of(" \t", std::min(remark, text.size()));
      const bool before_mark = i < line || (dash != std::string_view::npos && static_cast<int>(dash) + 1 < column);
      if (dash != std::string_view::npos && text[dash] == '-' && before_mark) return {i, static_cast<int>(dash) + 1};
    }
    return {line, column};
  }

  std::string_view text_;
  Document& document_;
  std::vector<Diagnostic>& findings_;
  const Bounds& bounds_;
  std::vector<Frame> frames_;
  Node root_;
  std::size_t nodes_ = 0;
  std::size_t reported_ = 0;
  bool document_complete_ = true;
};

/// Takes note that another document begins, and where.
class SecondDocument : public YAML::EventHandler {
 public:
  void OnDocumentStart(const YAML::Mark& mark) override {
    line = mark.line + 1;
    column = mark.column + 1;
    throw Stop{};
  }
  void OnDocumentEnd() override {}
  void OnNull(const YAML::Mark&, YAML::anchor_t) override {}
  void OnAlias(const YAML::Mark&, YAML::anchor_t) override {}
  void OnScalar(const YAML::Mark&, const std::string&, YAML::anchor_t, const std::string&) override {}
  void OnSequenceStart(const YAML::Mark&, const std::string&, YAML::anchor_t, YAML::EmitterStyle::value) override {}
  void OnSequenceEnd() override {}
  void OnMapStart(const YAML::Mark&, const std::string&, YAML::anchor_t, YAML::EmitterStyle::value) override {}
  void OnMapEnd() override {}

  int line = 0;
  int column = 0;
};

struct Reworded {
  std::string_view parser;
  std::string_view ours;
};

constexpr std::array rewordings{
    Reworded{"illegal map value",
             "a second ': ' in one line, or a key indented too far; text that holds ': ' belongs in quotes"},
    Reworded{"end of map not found", "this line does not fit the map above it: check its indentation"},
    Reworded{"end of map flow not found", "the brace '{' is not closed"},
    Reworded{"end of sequence not found", "this line does not fit the list above it: check its indentation"},
    Reworded{"end of sequence flow not found", "the bracket '[' is not closed"},
    Reworded{"illegal block entry", "a list entry '-' may not stand here"},
    Reworded{"illegal map key", "a key may not stand here"},
    Reworded{"illegal flow end", "a closing bracket without an opening one"},
    Reworded{"illegal end of scalar", "the quoted text is not closed"},
    Reworded{"illegal EOF in scalar", "the quoted text is not closed"},
    Reworded{"illegal document indicator in scalar", "the quoted text is not closed"},
    Reworded{"unknown escape character: ",
             "an unknown escape in double quotes; in single quotes the backslash means itself"},
    Reworded{"unknown token", "a character that may not begin a value: put the text in quotes"},
};

std::string own_words(const std::string& message) {
  for (const Reworded& reworded : rewordings) {
    if (message.starts_with(reworded.parser)) return std::string(reworded.ours);
  }
  return message.empty() ? "this is not YAML" : message;
}

void report_exception(const YAML::Exception& exception, std::string_view text, const Document& document,
                      std::vector<Diagnostic>& findings) {
  const bool known = !exception.mark.is_null();
  const int line = known ? exception.mark.line + 1 : static_cast<int>(document.lines.size());
  const int column = known ? exception.mark.column + 1 : 1;
  const auto position = static_cast<std::size_t>(std::max(exception.mark.pos, 0));
  const bool alias = known && position < text.size() && text[position] == '*';
  const Code code = alias ? Code::yaml_anchor : Code::yaml_syntax;
  const std::string message = alias ? "an alias (*) stands here: write the value out" : own_words(exception.msg);
  findings.push_back(document.finding(code, line, column, {}, message));
}

/// The line of a directive (%) before the document, 0 without one.
int line_of_directive(const Document& document) {
  for (std::size_t i = 0; i < document.lines.size(); ++i) {
    const std::string& line = document.lines[i];
    if (line.starts_with('%')) return static_cast<int>(i) + 1;
    const std::size_t first = line.find_first_not_of(' ');
    if (first != std::string::npos && line[first] != '#') return 0;
  }
  return 0;
}

/// The parser ends a document also where a line does not fit it.
void report_second(int line, int column, Document& document, std::vector<Diagnostic>& findings) {
  const auto end = document.lines.begin() + std::min<std::ptrdiff_t>(line, std::ssize(document.lines));
  const bool marked =
      std::any_of(document.lines.begin(), end, [](const std::string& text) { return text.starts_with("..."); }) ||
      (end != document.lines.begin() && std::prev(end)->starts_with("---"));
  if (marked) {
    findings.push_back(document.finding(Code::yaml_second_document, line, column, {}, "a second document begins here"));
  } else {
    findings.push_back(document.finding(Code::yaml_syntax, line, column, {},
                                        "this line does not fit what stands above it: check its indentation"));
    document.complete = false;
  }
}

}  // namespace

void build_tree(std::string_view text, Document& document, std::vector<Diagnostic>& findings, const Bounds& bounds) {
  if (const int line = line_of_directive(document); line > 0) {
    findings.push_back(
        document.finding(Code::yaml_syntax, line, 1, {}, "directives (%) are not accepted: remove the line"));
    return;
  }
  ViewBuffer buffer(text);
  std::istream stream(&buffer);
  TreeBuilder builder(text, document, findings, bounds);
  SecondDocument second;
  bool first_read = false;
  try {
    YAML::Parser parser(stream);
    parser.HandleNextDocument(builder);
    first_read = true;
    parser.HandleNextDocument(second);
    document.complete = builder.complete();
  } catch (const Stop&) {
    document.complete = first_read && builder.complete();
  } catch (const YAML::Exception& exception) {
    report_exception(exception, text, document, findings);
  }
  if (second.line > 0) report_second(second.line, second.column, document, findings);
  document.root = builder.take_root();
}

}  // namespace tileflux::input
