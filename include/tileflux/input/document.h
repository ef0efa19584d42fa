#pragma once
/// A YAML text as a tree with a place at every key and value, read under bounds: a file from a stranger is safe to
/// open.

#include <cstddef>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "tileflux/base/errors.h"

namespace tileflux::input {

/// Bounds on a text. Beyond them the text is refused, whatever it says.
struct Bounds {
  std::size_t bytes = 1u << 20;
  int depth = 12;              ///< nested maps and sequences
  std::size_t nodes = 50'000;  ///< keys, values, maps and sequences together
  std::size_t scalar_bytes = 4096;
};

/// A value of the document. Kept as text: numbers and units are read by whoever knows what is expected.
struct Node {
  enum class Kind { null, scalar, sequence, map };
  struct Entry;

  Kind kind = Kind::null;
  std::string text;            ///< of a scalar
  int line = 0;                ///< 1-based
  int column = 0;              ///< 1-based, in bytes
  std::vector<Node> items;     ///< of a sequence
  std::vector<Entry> entries;  ///< of a map, in the order of the file; keys are unique
};

struct Node::Entry {
  std::string key;
  int line = 0;
  int column = 0;
  Node value;
};

/// A parsed text: file name as shown to people, its lines for excerpts, and the root.
struct Document {
  std::string file;
  std::vector<std::string> lines;
  std::shared_ptr<const std::string> text;  ///< as read, byte by byte; none if it could not be read
  Node root;
  bool complete = false;  ///< read to its end; what an incomplete tree lacks says nothing, so it is not read further

  /// A diagnostic at a place of this document, with the excerpt filled in (none of a line longer than 200 bytes).
  Diagnostic finding(Code code, int line, int column, std::string path, std::string message) const;
};

/// Parses one YAML document. Findings (syntax, duplicate keys, anchors, tags, bounds, encoding, a second document) are
/// appended to `findings`, at most 100 of them; the tree holds what could be read. An entry whose key is no single
/// word, stands twice or is a merge key is left out. A leading byte order mark is skipped. Does not throw on any text.
Document parse_document(std::string_view text, std::string file, std::vector<Diagnostic>& findings,
                        const Bounds& bounds = {});

/// Reads a file and parses it. An unreadable or oversized file is a finding (file_unreadable, text_too_large).
Document read_document(const std::string& file, std::vector<Diagnostic>& findings, const Bounds& bounds = {});

}  // namespace tileflux::input
