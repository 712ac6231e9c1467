"""Parses an HTML document (or, with `fragment`, a piece of one) with html5lib, which follows the WHATWG's parsing rules.

Prints a line of JSON: {"errors": [...], "elements": {name: count}, "texts": [content of each `pre` and `title`], "twice": [ids used twice]}.
"""

import json
import sys
from collections import Counter

import html5lib

parser = html5lib.HTMLParser(tree=html5lib.getTreeBuilder("etree"), namespaceHTMLElements=False)
source = sys.stdin.read()
if sys.argv[1:] == ["fragment"]:
    tree = parser.parseFragment(source)
else:
    tree = parser.parse(source)
elements = [element for element in tree.iter() if isinstance(element.tag, str)]
# The names of SVG elements include their namespace.
names = [element.tag.rsplit("}", 1)[-1] for element in elements]
ids = Counter(element.get("id") for element in elements if element.get("id"))
print(json.dumps({
    "errors": [f"{place}: {what}" for place, what, _ in parser.errors],
    "elements": Counter(names),
    "texts": [element.text or "" for element, name in zip(elements, names) if name in ("pre", "title")],
    "twice": [name for name, count in ids.items() if count > 1],
}))
