"""HTML is made so that no text of a rule can become markup."""

from __future__ import annotations

from clauseway_pages.markup import Html, bullets, join, link, plain, table, tag, text

NASTY = "<script>alert('x')</script> & \"quoted\""


def test_text_and_attributes_are_escaped() -> None:
    made = tag("p", NASTY, title=NASTY)
    assert "<script>" not in made
    assert made == (
        '<p title="&lt;script&gt;alert(&#x27;x&#x27;)&lt;/script&gt; &amp; &quot;quoted&quot;">'
        "&lt;script&gt;alert(&#x27;x&#x27;)&lt;/script&gt; &amp; &quot;quoted&quot;</p>"
    )


def test_what_is_html_already_is_not_escaped_twice() -> None:
    assert tag("p", tag("b", "a & b")) == "<p><b>a &amp; b</b></p>"
    assert text(Html("<i>x</i>")) == "<i>x</i>"
    assert join(["<", Html("<b>"), None], ", ") == "&lt;, <b>"


def test_tables_lists_and_links_escape_as_well() -> None:
    for made in (bullets([NASTY]), table(NASTY, [NASTY], [[NASTY]]), link("x.html", NASTY)):
        assert "<script>" not in made
        assert "&lt;script&gt;" in made


def test_the_words_of_html() -> None:
    assert plain(tag("p", "a < b", tag("b", "c"))) == "a < b c"
    assert bullets([]) == ""
