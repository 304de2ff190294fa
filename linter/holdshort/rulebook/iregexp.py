"""I-Regexp, the regular expressions of JSONPath: RFC 9485 section 3, grammar from memory."""

import re
from typing import Final

_ESCAPED: Final = r"\\[()*+\-.?\[\\\]^nrt{|}]"
_PROPERTY: Final = r"\\[pP]\{(?:L[lmotu]?|M[cen]?|N[dlo]?|P[cdefios]?|Z[lps]?|S[ckmo]?|C[cfno]?)\}"
_IN_BRACKETS: Final = rf"(?:[^\-\[\\\]\ud800-\udfff]|{_ESCAPED})"
_MEMBER: Final = rf"(?:{_IN_BRACKETS}(?:-{_IN_BRACKETS})?|{_PROPERTY})"
_TOKEN: Final = re.compile(
    rf"(?P<atom>[^()*+.?\[\\\]{{|}}\ud800-\udfff]|\.|{_ESCAPED}|{_PROPERTY}"
    rf"|\[(?:\^|(?!\^))(?:-|{_MEMBER}){_MEMBER}*-?\])"
    r"|(?P<open>\()|(?P<close>\))|(?P<or>\|)"
    r"|(?P<times>[*+?]|\{[0-9]+(?:,[0-9]*)?\})"
)


def is_iregexp(text: str) -> bool:
    """Tell whether ``text`` is an I-Regexp."""
    depth, at = 0, 0
    repeatable = False
    while at < len(text):
        found = _TOKEN.match(text, at)
        if found is None:
            return False
        kind, at = found.lastgroup, found.end()
        if kind == "times" and not repeatable:
            return False
        depth += (kind == "open") - (kind == "close")
        if depth < 0:
            return False
        repeatable = kind in {"atom", "close"}
    return depth == 0
