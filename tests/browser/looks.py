"""What a test waits for on a page."""


def expect(page, selector, text):
    """Wait until the element shows that text."""
    page.wait_for_function(
        "([selector, text]) => document.querySelector(selector)?.textContent.includes(text)",
        arg=[selector, text],
    )


def gone(page, selector):
    """Wait until the element shows nothing."""
    page.wait_for_function(
        "(selector) => !document.querySelector(selector)?.textContent.trim()", arg=selector
    )
