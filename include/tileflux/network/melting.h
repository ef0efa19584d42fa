#pragma once
/// Stores that melt and freeze. Their unknown is the enthalpy, so that no heat is lost or made however fast they melt.
///
/// The unknown u is the enthalpy counted in kelvin of the solid: H = C_s (u - T_solidus). Below the melting range u
/// *is* the temperature. Over the range the temperature rises evenly while H rises by the latent heat and by nothing
/// else; above it the temperature rises with the heat capacity of the liquid. The storage term of the balance is C_s
/// du/dt everywhere. (Enthalpy method: Alexiades & Solomon 1993, Mathematical Modeling of Melting and Freezing
/// Processes, chapter 4; from memory.)

#include "tileflux/base/dual.h"

namespace tileflux::network {

/// What a melting node is. Heat capacities, latent heat and range must be above zero, and the solidus above 0 K.
struct MeltingLaw {
  double solid_J_per_K = 1.0;   ///< heat capacity when all solid
  double liquid_J_per_K = 1.0;  ///< when all liquid
  double latent_J = 1.0;        ///< heat of fusion of the whole node
  double melt_K = 300.0;        ///< middle of the melting range
  double range_K = 0.1;         ///< from solidus to liquidus

  double solidus_K() const { return melt_K - 0.5 * range_K; }
  double liquidus_K() const { return melt_K + 0.5 * range_K; }
  /// The unknown at which the last solid melts.
  double molten_unknown() const { return solidus_K() + latent_J / solid_J_per_K; }

  /// Temperature in K at the unknown u; continuous and rising.
  template <class Scalar>
  Scalar temperature_K(const Scalar& u) const {
    if (value_of(u) <= solidus_K()) return u;
    const Scalar melted_J = solid_J_per_K * (u - solidus_K());
    if (value_of(melted_J) <= latent_J) return Scalar(solidus_K() + (range_K / latent_J) * melted_J);
    return Scalar(liquidus_K() + (melted_J - latent_J) / liquid_J_per_K);
  }

  /// Share of the node that is liquid, 0 to 1.
  template <class Scalar>
  Scalar melted_share(const Scalar& u) const {
    if (value_of(u) <= solidus_K()) return Scalar(0.0 * u);
    const Scalar share = (solid_J_per_K / latent_J) * (u - solidus_K());
    return value_of(share) < 1.0 ? share : Scalar(1.0 + 0.0 * u);
  }

  /// The unknown at a temperature: the inverse of temperature_K.
  double unknown_of(double temperature_K) const {
    if (temperature_K <= solidus_K()) return temperature_K;
    const double latent_in_K = latent_J / solid_J_per_K;
    if (temperature_K <= liquidus_K()) return solidus_K() + latent_in_K * ((temperature_K - solidus_K()) / range_K);
    return molten_unknown() + (liquid_J_per_K / solid_J_per_K) * (temperature_K - liquidus_K());
  }

  /// Throws Error(value_out_of_range) if a value is not what the struct asks for.
  void check() const;
};

/// Heat from a wall (its temperature) into a whole store (its unknown) whose front moves away from the wall:
/// q = (Ta - T(u)) / (contact + front). The front is the layer between wall and front, quasi-steady (Stefan's problem
/// for a small Stefan number: Carslaw & Jaeger 1959, section 11.2): liquid over the melted share while the wall is the
/// hotter one, solid over the frozen share while it is the colder one. Both are counted from the wall: a store that
/// turns before it is through counts what is left of the phase it turns to as its new layer. Continuous, for q is zero
/// where the two resistances change. A solid store below the range has no liquid layer and a liquid one above it no
/// solid one: then `contact` alone is the way into it, and it must be above zero.
struct MeltFront {
  double contact_K_per_W = 0.0;  ///< wall to store, and the mean way inside it
  double liquid_K_per_W = 0.0;   ///< of the whole layer when liquid: thickness / (k_liquid area)
  double solid_K_per_W = 0.0;    ///< of the whole layer when solid
  MeltingLaw store{};            ///< of end b; the network fills it in from the node

  template <class Scalar>
  Scalar flow(const Scalar& a_K, const Scalar& b_unknown) const {
    const Scalar apart_K = a_K - store.temperature_K(b_unknown);
    const Scalar share = store.melted_share(b_unknown);
    const Scalar front =
        value_of(apart_K) > 0.0 ? Scalar(liquid_K_per_W * share) : Scalar(solid_K_per_W * (1.0 - share));
    return Scalar(apart_K / (contact_K_per_W + front));
  }
};

/// Conduction potential of one piece that is solid below its melting point and liquid above it, in watts: the
/// temperature from the melting point over the resistance of the phase that is there. Differences of it are the heat
/// that flows, as the integral of k dT is for k(T) (Kirchhoff's transformation: Carslaw & Jaeger 1959, section 1.6).
struct PhaseConduction {
  double solid_K_per_W = 1.0;   ///< of the way when solid: length / (k_solid area)
  double liquid_K_per_W = 1.0;  ///< when liquid

  template <class Scalar>
  Scalar potential_W(const Scalar& temperature_K, double melt_K) const {
    const Scalar above_K = temperature_K - melt_K;
    return Scalar(above_K / (value_of(above_K) > 0.0 ? liquid_K_per_W : solid_K_per_W));
  }
};

/// Heat between two slices of one store (both ends are unknowns), middle to middle. Slices in a row, with a MeltFace at
/// either end, converge to the moving front with its sensible heat (Neumann's solution) as they become thinner.
struct MeltLayer {
  PhaseConduction between{};
  MeltingLaw store_a{};  ///< the network fills both in from the nodes
  MeltingLaw store_b{};

  template <class Scalar>
  Scalar flow(const Scalar& a_unknown, const Scalar& b_unknown) const {
    return Scalar(between.potential_W(store_a.temperature_K(a_unknown), store_a.melt_K) -
                  between.potential_W(store_b.temperature_K(b_unknown), store_b.melt_K));
  }
};

/// Heat from a wall or another part (its temperature) through a contact to the middle of the outermost slice of a store
/// (its unknown). Behind the contact the store's face is liquid or solid as its own temperature says:
/// q = (Ta - Tm - R P(Tb)) / (R + contact), with R of the phase at the face and P the potential in the slice's middle.
struct MeltFace {
  double contact_K_per_W = 0.0;
  PhaseConduction half{};  ///< from the face to the middle of the slice
  MeltingLaw store{};      ///< of end b; the network fills it in from the node

  template <class Scalar>
  Scalar flow(const Scalar& a_K, const Scalar& b_unknown) const {
    const Scalar inside_W = half.potential_W(store.temperature_K(b_unknown), store.melt_K);
    const Scalar above_K = a_K - store.melt_K;
    const bool liquid = value_of(above_K) + contact_K_per_W * value_of(inside_W) > 0.0;
    const double way_K_per_W = liquid ? half.liquid_K_per_W : half.solid_K_per_W;
    return Scalar((above_K - way_K_per_W * inside_W) / (way_K_per_W + contact_K_per_W));
  }
};

}  // namespace tileflux::network
