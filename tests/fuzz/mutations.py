"""Valid files made invalid: the edits that a fuzzer, a careless hand or an enemy would make."""

from __future__ import annotations

from hypothesis import strategies as st

TOKENS = (
    *("", "9" * 40, "a" * 600, "\u0301" * 8, "\n", "\r", "\r\n", "\0", "\t", "\n\n\n", '"""', "'''", "1 2"),
    *"\" ' # , ; = . [ ] [[ ]] { } - + \\ \\u0000 \\ud800 1,1 =1+1 @x [a]\n[a] a.b.c.d.e=1\n".split(" "),
    *"0 00 1e999 nan inf -inf 1_0 0x1f 0.000000000000001 １ ٣ true mohm Mohm ohm ../../x CON".split(),
    *"1979-05-27T07:32:00Z 1979-05-27 07:32:00 0001-01-01 9999-12-31T23:59:59.999Z".split(),
    *"9999-12-31T23:59:59-23:59 limit max points reading void redo insert amend shift mirror run".split(),
    *(
        "renumber",
        "start",
        "close",
        "\ufeff",
        "\u202e",
        "\u200b",
        "\x1b[31m",
        "\x1b]0;x\x07",
        "\x9b5n",
        "\ud800",
    ),
)
BROKEN_UTF8 = (b"\xff", b"\xfe\xff", b"\xc3", b"\xed\xa0\x80", b"\xf4\x90\x80\x80")
_TOKENS = (*(token.encode(errors="surrogatepass") for token in TOKENS), *BROKEN_UTF8)


@st.composite
def mutated(draw: st.DrawFn, seeds: tuple[bytes, ...]) -> bytes:
    """A seed with up to six edits, or plain noise."""
    if draw(st.integers(0, 9)) == 0:
        return draw(st.binary(max_size=300))
    data = draw(st.sampled_from(seeds))
    if len(data) > 4000 and draw(st.booleans()):  # a short file is read faster, and its end is met more often
        data = data[: data.rfind(b"\n", 0, 2500) + 1] or data
    for _ in range(draw(st.integers(1, 6))):
        data = _edited(draw, data)
    return data


def _edited(draw: st.DrawFn, data: bytes) -> bytes:
    start = draw(st.integers(0, len(data)))
    end = min(len(data), start + draw(st.sampled_from((0, 1, 1, 2, 8, 60, 400))))
    kind = draw(st.sampled_from(("put", "put", "cut", "twice", "move", "byte", "line", "number")))
    if kind == "put":
        return data[:start] + draw(st.sampled_from(_TOKENS)) + data[end:]
    if kind == "cut":
        return data[:start] + data[end:]
    if kind == "twice":
        return data[:end] + data[start:end] * draw(st.sampled_from((1, 2, 50))) + data[end:]
    if kind == "move":
        place = draw(st.integers(0, len(data)))
        return data[:place] + data[start:end] + data[place:]
    if kind == "byte":
        return data[:start] + bytes([draw(st.integers(0, 255))]) + data[start + 1 :]
    lines = data.split(b"\n")
    line = draw(st.integers(0, len(lines) - 1))
    if kind == "line":
        lines.insert(draw(st.integers(0, len(lines))), lines.pop(line))
    else:  # one cell or value of the line is another one
        parts = lines[line].split(b",")
        parts[draw(st.integers(0, len(parts) - 1))] = draw(st.sampled_from(_TOKENS))
        lines[line] = b",".join(parts)
    return b"\n".join(lines)
