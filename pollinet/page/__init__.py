"""The garden in the browser: a local page on which the whole job can be done.

    app        the Flask application, joined from the screens
    guard      who may ask: this machine's own browser alone, and writing only from its own forms
    desk       the plan that is open, read again when its files change, and the gardens tried
    tries      what can be tried, as it stands in an address, in memory and in the plan file
    links      addresses that keep what is tried
    names      names of varieties while they are typed
    entries    what forms tell of a place, a tree, a limb, a neighbour's tree, wood; what there is
    fields     what those forms need to be shown
    drafts     gardens that are being begun, in memory until they are written
    towns      towns by their names, where the library with them is installed
    near_lines the line of a plan's text that a finding is about
    form_notes the form for notes, on the page and on the telephone
    policy     what a document that stands by itself may do
    take_along the garden as one file for the telephone
    paragraphs lines of plain text as paragraphs and lists
    behind, questions  what takes long, worked out in processes of their own
    screens/   one module a screen: its addresses and what its template needs
    server     from a plan to a running server

Every screen is a page of its own that needs no script; with script its part is swapped. Nothing is
saved by looking or trying: the plan file is changed by `screens/plan_file` alone,
which others give what to write; a new one is written by `screens/begin`, the log by
`screens/orchard`.
"""
