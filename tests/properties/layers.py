"""Layers of any kind, for property tests."""

from hypothesis import strategies as st

from service.agronomy.layers.material import LayerMaterial, greatest_density_kg_per_m3

moistures = st.floats(0.3, 0.9)
fills = st.floats(0.1, 0.95)
uptakes = st.floats(0.2, 4)


@st.composite
def layers(draw):
    moisture = draw(moistures)
    return LayerMaterial(
        bulk_density_kg_per_m3=max(10.0, draw(fills) * greatest_density_kg_per_m3(moisture)),
        moisture=moisture,
        oxygen_uptake_g_per_kg_h=draw(uptakes),
    )
