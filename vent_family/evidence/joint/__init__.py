"""The joint of the fitted vent with its panel: gasket, clamping, and ways past the body."""
