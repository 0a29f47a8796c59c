// A person's own settings template, filled with one camera's name, network, key and pins: what goes into the
// firmware's source before it is loaded.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "plan/plan_file.h"

namespace rookery::plan {

// `text` as the inside of a C or C++ string literal: quotes, backslashes, question marks (trigraphs), control
// characters and everything beyond ASCII are escaped, the latter as three octal digits, which no digit behind
// them can lengthen.
std::string c_escaped(std::string_view text);

// Fills a Mustache template (mustache(5)): {{name}} is the camera's name, {{page}} the address of its page,
// every other name one of its settings, which comes out as it was written, true and false as these words.
// {{x}} is escaped for a C string; {{{x}}} and {{&x}} put it in as it stands, which only values of letters,
// digits and _ . : / + - may be, so that a quote or a backslash in a network's key cannot break the source.
// {{#x}}…{{/x}} stays unless x is false or empty, {{^x}}…{{/x}} if it is; {{.}} is the value of the section
// that it stands in. `where` is the template's name, for errors, which never hold a value. The names of
// values that were put in and are empty go into `empty`, when it is there, each once. Errors: malformed (no
// Mustache; settings_tags.h), invalid_value (a name that the camera has no value for; a value that cannot be
// put in as it stands; a value with a control character; a section about the text "no" or "false", which may
// be meant either way; {{.}} where no section gives it a value), unsupported ({{> partial}}).
base::Result<std::string> fill_settings(std::string_view text, const CameraPlan& camera,
                                        const std::string& where, std::vector<std::string>* empty = nullptr);

}  // namespace rookery::plan
