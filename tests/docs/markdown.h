// The commands in a Markdown page, and whether each is written so that it can be run.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace rookery::test {

// One fenced block.
struct Block {
  std::size_t line = 0;  // of the fence, from 1
  std::string language;  // "sh"; empty when the fence names none
  std::string mark;      // what the HTML comment right above the fence says; empty when there is none
  std::vector<std::string> lines;

  bool is_shell() const { return language == "sh"; }
  // The rest of a mark that begins with `word` and a colon: "not run", "given". Empty when it does not.
  std::string marked(std::string_view word) const;
};

// The fenced blocks of a page, in order.
std::vector<Block> read_blocks(std::string_view page);

// What keeps commands of a page from being run, one text each, with its line: a command in an indented block
// or in a fence without a language; a shell block whose mark is neither "given: …" nor "not run: " with a
// reason; a `curl` that would take an error page for an answer.
std::vector<std::string> find_unrunnable(std::string_view page);

}  // namespace rookery::test
