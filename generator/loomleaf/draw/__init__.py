"""Pictures as SVG text, worked out from plans and plain values: no file is read or written here, same input same bytes.

svg       the small builder every picture is made with
letters   widths of text in the bundled faces
swatch    a wire's colour as a bar, and as the band of a wire in every other picture
faces     plug faces from the mating side and from the wire side; outlines of other ends
lanes     the order of lanes that crosses fewest lines
loom      the loom picture along its joint ruler
strip     the full-size cutting strip
cards     joint cards: the steps of each way of joining, good against bad
meter     where the probes go, and what goes wrong
plots     line and bar plots
"""
